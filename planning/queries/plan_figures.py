"""A plan in a few figures, and what changed between two of them."""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import Any

from boxwort.quantities import Measure
from planning.engine.plan import PlanResult
from planning.engine.plan_late import short_kits
from planning.models import Plan, PlannedItem, PlannedOrder
from planning.queries.demand import monday_of

NEWEST = 20


def plan_figures(plan: PlanResult) -> dict[str, Any]:
    """Return what a plan comes to; money is ten-thousandths.

    ``kits`` are suggested, in ``runs`` of one kit each; ``purchases`` are orders of one item, of
    which ``past_due`` should have gone before today; ``late_kits`` are not there when wanted.
    """
    return {
        "runs": sum(len(level.runs) for level in plan.levels),
        "kits": sum(int(level.runs.kits.sum()) for level in plan.levels),
        "purchases": len(plan.buys),
        "past_due": sum(buy.days.past_due for buy in plan.buys),
        "cost": sum(buy.cost for buy in plan.buys),
        "late_kits": sum(row.kits for row in short_kits(plan)),
        "unoffered": len(plan.nobody_offers),
    }


@dataclass(frozen=True, kw_only=True)
class KeptPlanRow:
    """A plan that was kept."""

    plan_id: int
    made_at: Any
    made_by: str
    as_of: date
    weeks: int
    note: str
    figures: dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class ChangeRow:
    """What a plan orders or packs of an item for one week, before and now, in whole units.

    ``made`` is true of kits.
    """

    item_code: str
    item_name: str
    measure: Measure
    made: bool
    week_on: date
    before: int
    now: int


@dataclass(frozen=True, kw_only=True)
class PlanChanges:
    """What changed since a plan was kept."""

    since: KeptPlanRow
    rows: tuple[ChangeRow, ...]


def kept_plans() -> tuple[KeptPlanRow, ...]:
    """Return the plans that were kept, the newest first; one statement."""
    return tuple(_kept(plan) for plan in Plan.objects.select_related("made_by")[:NEWEST])


def kept_plan(plan_id: int) -> KeptPlanRow:
    """Return one plan that was kept.

    Raises
    ------
    Plan.DoesNotExist: there is none.
    """
    return _kept(Plan.objects.select_related("made_by").get(pk=plan_id))


def _kept(plan: Plan) -> KeptPlanRow:
    return KeptPlanRow(
        plan_id=plan.pk,
        made_at=plan.made_at,
        made_by=plan.made_by.named,
        as_of=plan.as_of,
        weeks=plan.weeks,
        note=plan.note,
        figures=plan.figures,
    )


_Key = tuple[str, date]


def changes_since(kept: KeptPlanRow, plan: PlanResult) -> PlanChanges:
    """Return what a plan orders and packs otherwise than one that was kept; one statement.

    Compared by week of need; what was needed before today is of the week that holds today.
    """
    before: dict[_Key, int] = defaultdict(int)
    names: dict[str, tuple[str, Measure, bool]] = {}
    proposed = PlannedItem.objects.filter(plan=kept.plan_id)
    for code, name, measure, kind, orders in proposed.values_list(
        "item__code", "item__name", "item__measure", "item__kind", "orders"
    ):
        names[code] = name, Measure(measure), kind == "kit"
        for order in itertools.starmap(PlannedOrder, orders):
            needed_on = max(date.fromisoformat(order.need_by), plan.given.today)
            before[code, monday_of(needed_on)] += order.quantity
    now: dict[_Key, int] = defaultdict(int)
    for item, quantity, bucket in _ordered(plan):
        facts = plan.given.items[item]
        now[facts.code, monday_of(plan.given.day(bucket))] += quantity
        names[facts.code] = facts.name, facts.measure, facts.kind == "kit"
    return PlanChanges(
        since=kept,
        rows=tuple(
            ChangeRow(
                item_code=code,
                item_name=names[code][0],
                measure=names[code][1],
                made=names[code][2],
                week_on=week_on,
                before=before.get((code, week_on), 0),
                now=now.get((code, week_on), 0),
            )
            for code, week_on in sorted(before.keys() | now.keys(), key=lambda key: key[::-1])
            if before.get((code, week_on), 0) != now.get((code, week_on), 0)
        ),
    )


def _ordered(plan: PlanResult) -> Iterable[tuple[int, int, int]]:
    """Yield item, quantity and bucket of everything a plan orders or packs."""
    for level in plan.levels:
        for run in level.runs.rows:
            yield plan.given.kits[run.kit].item, run.kits, max(run.needed, run.bucket)
    for buy in plan.buys:
        yield buy.item, buy.quantity, buy.bucket
