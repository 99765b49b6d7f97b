"""The plan as people read it: what cannot be done in time, which runs to plan, what to order.

What is late stands first, each with what can still be done. Suggested runs stand by week, each with
what it is for; what to order is the purchase list's, here only what is due soonest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Max, Sum

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_late import WaitingFor, short_kits
from planning.engine.plan_making import Level
from planning.engine.plan_remedies import Remedies
from planning.models import Run
from planning.queries.demand import monday_of
from planning.queries.last_runs import LastRunRow, last_runs
from planning.queries.plan_figures import (
    KeptPlanRow,
    PlanChanges,
    changes_since,
    kept_plans,
    plan_figures,
)
from planning.queries.plan_input import plan_input
from planning.queries.purchasing import PurchasePlan, PurchaseRow, purchase_plan_of


@dataclass(frozen=True, kw_only=True)
class ShortKitsRow:
    """Kits that are not there when they are wanted; ``ready_on`` is when they are; None: never.

    ``about`` is the row of the order or run that waits, 0 of anything else.
    """

    kit_code: str
    kit_name: str
    kits: int
    kind: CauseKind
    about: int
    reference: str
    named: str
    wanted_on: date
    ready_on: date | None
    reason: str


@dataclass(frozen=True, kw_only=True)
class LackingRow:
    """What a run or an order waits for: whole units, and when they can be here; None: never."""

    item_code: str
    item_name: str
    measure: Measure
    quantity: int
    usable_on: date | None


@dataclass(frozen=True, kw_only=True)
class WaitingRow:
    """A run or an order whose parts come too late.

    ``possible`` of its ``kits`` can be made from what is there in time; ``advice`` says what else
    can be done.
    """

    kind: CauseKind
    about: int
    reference: str
    named: str
    on: date
    kits: int
    possible: int
    ready_on: date | None
    lacking: tuple[LackingRow, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SuggestedLineRow:
    """Kits of a suggested run: what they are for, and why so many or on that day."""

    kit_id: int
    kit_code: str
    kit_name: str
    kits: int
    needed_on: date
    serves: tuple[tuple[str, int], ...]
    reasons: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SuggestedRunRow:
    """A run that the plan suggests: all kits of one level that are packed on one day.

    ``key`` names it as long as the plan stands: its day and level.
    """

    key: str
    pack_on: date
    level: int
    lines: tuple[SuggestedLineRow, ...]

    @property
    def kits(self) -> int:
        """How many it packs."""
        return sum(line.kits for line in self.lines)

    @property
    def chosen(self) -> str:
        """The run as a form names it: its key, and its kits by number."""
        kits = ",".join(f"{line.kit_id}={line.kits}" for line in self.lines)
        return f"{self.key}:{kits}"


@dataclass(frozen=True, kw_only=True)
class SuggestedWeek:
    """The suggested runs of the week from a Monday."""

    week_on: date
    runs: tuple[SuggestedRunRow, ...]


@dataclass(frozen=True, kw_only=True)
class Suggestions:
    """Suggested runs; ``mark`` changes with every run that is planned, changed or taken back."""

    on: date
    mark: str
    runs: tuple[SuggestedRunRow, ...]


@dataclass(frozen=True, kw_only=True)
class PlanPage:
    """The whole plan as of ``on``, for a page.

    ``late_receipts`` are orders that should have come, with what; ``changes`` since the plan that
    was kept last, None: none was.
    """

    on: date
    until: date
    short: tuple[ShortKitsRow, ...]
    waiting: tuple[WaitingRow, ...]
    late_receipts: tuple[tuple[str, str], ...]
    weeks: tuple[SuggestedWeek, ...]
    last_runs: tuple[LastRunRow, ...]
    purchases: PurchasePlan
    figures: dict[str, Any]
    kept: tuple[KeptPlanRow, ...]
    changes: PlanChanges | None

    @property
    def to_order(self) -> tuple[tuple[str, PurchaseRow], ...]:
        """Every purchase with its supplier, the first to be ordered at the top."""
        rows = [
            (supplier.supplier_name, line)
            for supplier in self.purchases.suppliers
            for line in supplier.lines
        ]
        return tuple(sorted(rows, key=lambda row: (row[1].order_by, row[1].item_code)))


def plan_page(on: date) -> PlanPage:
    """Return the plan as of a day, in a fixed number of statements."""
    plan = planned(plan_input(on))
    purchases, given, kept = purchase_plan_of(plan), plan.given, kept_plans()
    return PlanPage(
        on=given.today,
        until=given.day(given.buckets - 1),
        short=short_rows(plan),
        waiting=waiting_rows(plan),
        late_receipts=tuple(
            (order.code, given.items[order.item].name)
            for order in given.on_order
            if order.due_on < given.today
        ),
        weeks=by_week(suggested_runs_of(plan)),
        last_runs=last_runs(plan, site_settings()),
        purchases=purchases,
        figures=plan_figures(plan),
        kept=kept,
        changes=changes_since(kept[0], plan) if kept else None,
    )


def suggestions(on: date) -> Suggestions:
    """Return the runs that the plan suggests as of a day."""
    mark = runs_mark()  # read first: a run planned meanwhile makes it stale
    return Suggestions(on=on, mark=mark, runs=suggested_runs_of(planned(plan_input(on))))


def runs_mark() -> str:
    """Return what changes with every change of any run; one statement."""
    found = Run.objects.aggregate(newest=Max("pk"), versions=Sum("version"))
    return f"{found['newest'] or 0}-{int(found['versions'] or 0)}"


def short_rows(plan: PlanResult) -> tuple[ShortKitsRow, ...]:
    """Return the kits that are late, by day."""
    rows = []
    for row in short_kits(plan):
        item, cause = plan.given.items[row.item], plan.causes.of(row.cause)
        rows.append(
            ShortKitsRow(
                kit_code=item.code,
                kit_name=item.name,
                kits=row.kits,
                kind=cause.kind,
                about=cause.about,
                reference=cause.reference,
                named=plan.causes.of(row.cause).named,
                wanted_on=row.wanted_on,
                ready_on=row.ready_on,
                reason=row.reason,
            )
        )
    return tuple(rows)


def waiting_rows(plan: PlanResult) -> tuple[WaitingRow, ...]:
    """Return what waits for parts, by day, with what can be done about each of them."""
    remedies = Remedies(plan)
    return tuple(_waiting_row(plan, row, remedies) for row in remedies.waiting.values())


def _waiting_row(plan: PlanResult, row: WaitingFor, remedies: Remedies) -> WaitingRow:
    cause = plan.causes.of(row.cause)
    lacking = []
    said: list[str] = []
    for found in row.lacking:
        item = plan.given.items[found.item]
        lacking.append(
            LackingRow(
                item_code=item.code,
                item_name=item.name,
                measure=item.measure,
                quantity=found.quantity,
                usable_on=found.usable_on,
            )
        )
        said += [f"{item.name}: {told}" for told in remedies.for_one(row.cause, found.item)]
        if found.usable_on is None:
            said.append(f"{item.name}: no supplier offers it; add an offer.")
    return WaitingRow(
        kind=cause.kind,
        about=cause.about,
        reference=cause.reference,
        named=plan.causes.of(row.cause).named,
        on=cause.on,
        kits=row.kits,
        possible=row.possible,
        ready_on=row.ready_on,
        lacking=tuple(lacking),
        advice=tuple(said),
    )


def suggested_runs_of(plan: PlanResult) -> tuple[SuggestedRunRow, ...]:
    """Return the runs that a plan suggests, by day; kits that go into others come first."""
    rows = [row for level in plan.levels for row in _level_runs(plan, level)]
    return tuple(sorted(rows, key=lambda row: (row.pack_on, -row.level)))


def _level_runs(plan: PlanResult, level: Level) -> Iterable[SuggestedRunRow]:
    days: dict[int, list[SuggestedLineRow]] = defaultdict(list)
    for run, serves in zip(level.runs.rows, plan.runs_serve(level), strict=True):
        kit = plan.given.kits[run.kit]
        item = plan.given.items[kit.item]
        days[run.bucket].append(
            SuggestedLineRow(
                kit_id=kit.kit_id,
                kit_code=item.code,
                kit_name=item.name,
                kits=run.kits,
                needed_on=plan.given.day(run.needed),
                serves=tuple(serves),
                reasons=run.reasons,
            )
        )
    for bucket, lines in days.items():
        day = plan.given.day(bucket)
        yield SuggestedRunRow(
            key=f"{day.isoformat()}-{level.level}",
            pack_on=day,
            level=level.level,
            lines=tuple(sorted(lines, key=lambda line: line.kit_code)),
        )


def by_week(runs: Sequence[SuggestedRunRow]) -> tuple[SuggestedWeek, ...]:
    """Return runs by the week of their day."""
    weeks: dict[date, list[SuggestedRunRow]] = defaultdict(list)
    for run in runs:
        weeks[monday_of(run.pack_on)].append(run)
    return tuple(
        SuggestedWeek(week_on=week_on, runs=tuple(found)) for week_on, found in weeks.items()
    )
