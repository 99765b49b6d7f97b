"""The start of the day: what is to be packed this week, and everything that needs a person."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.jobs.models import JobState
from boxwort.jobs.queries import JobRow, job_rows
from inventory.models import LotStatus
from inventory.queries.lots import LotRow, lot_rows
from planning.models import Batch, BatchState
from planning.queries.batches import Trouble, troubles
from planning.queries.buying_lists import OPEN
from planning.queries.proposals import ProposalRow, proposal_rows
from planning.queries.purchase_orders import OrderRow, order_rows
from planning.queries.purchasing import PurchasePlan, PurchaseRow, UnofferedRow, purchase_plan
from planning.queries.runs import RunRow, run_rows
from planning.queries.stuck import stuck_batches
from planning.queries.yeast import Verdict, YeastLotRow, YeastRunRow, yeast_rows

DAYS_AHEAD = 7
NEWEST_JOBS = 200


@dataclass(frozen=True, kw_only=True)
class RunToday:
    """A run of the coming days, and what stands in its way.

    ``missing`` names the items that must still be bought for it, ``stuck`` says which of its
    batches need other weights and could get none.
    """

    run: RunRow
    late: bool
    troubles: tuple[Trouble, ...]
    stuck: tuple[str, ...]
    missing: tuple[str, ...]

    @property
    def clear(self) -> bool:
        """Whether nothing stands in its way."""
        return not (self.troubles or self.stuck or self.missing or self.run.proposals)


@dataclass(frozen=True, kw_only=True)
class LateLine:
    """A purchase that should have been ordered before today."""

    supplier_name: str
    line: PurchaseRow


@dataclass(frozen=True, kw_only=True)
class YeastToday:
    """The best lot that a kit of an open run can be pitched from."""

    lot: YeastLotRow
    run: YeastRunRow

    @property
    def serves(self) -> bool:
        """Whether it gives every kit its full pitch."""
        return self.run.verdict is Verdict.SERVES and self.run.enough

    @property
    def rank(self) -> tuple[bool, float]:
        """What makes one lot better than another."""
        return self.serves, self.run.pitched


@dataclass(frozen=True, kw_only=True)
class Day:
    """Everything on the page that a day starts with, as of ``on``."""

    on: date
    until: date
    runs: tuple[RunToday, ...]
    later_runs: int
    proposals: tuple[ProposalRow, ...]
    late: tuple[LateLine, ...]
    unoffered: tuple[UnofferedRow, ...]
    orders: tuple[OrderRow, ...]
    yeasts: tuple[YeastToday, ...]
    quarantine: tuple[LotRow, ...]
    failed_jobs: tuple[JobRow, ...]


def day(on: date) -> Day:
    """Return the start of the day in a fixed number of statements."""
    until = on + timedelta(days=DAYS_AHEAD)
    open_runs = run_rows(only_open=True)
    near = [run for run in open_runs if run.pack_on <= until]
    plan = purchase_plan(on)
    return Day(
        on=on,
        until=until,
        runs=_runs(near, plan, on),
        later_runs=len(open_runs) - len(near),
        proposals=tuple(proposal_rows(only_open=True)),
        late=tuple(
            LateLine(supplier_name=supplier.supplier_name, line=line)
            for supplier in plan.suppliers
            for line in supplier.lines
            if line.past_due
        ),
        unoffered=plan.unoffered,
        orders=tuple(row for row in order_rows(on, states=OPEN) if _presses(row, on)),
        yeasts=_weak_yeasts(on),
        quarantine=tuple(lot_rows(on=on, status=LotStatus.QUARANTINE, in_stock=True)),
        failed_jobs=_failed_jobs(),
    )


def _runs(near: list[RunRow], plan: PurchasePlan, on: date) -> tuple[RunToday, ...]:
    batches = list(
        Batch.objects.filter(
            run_line__run__in=[run.id for run in near], state=BatchState.RESERVED
        ).select_related("run_line__run")
    )
    run_of = {batch.pk: batch.run_line.run_id for batch in batches}
    wrong: dict[int, list[Trouble]] = {}
    for trouble in troubles(batches):
        wrong.setdefault(run_of[trouble.batch_id], []).append(trouble)
    stuck: dict[int, list[str]] = {}
    told = stuck_batches(batch.code for batch in batches)
    for batch in batches:
        if batch.code in told:
            stuck.setdefault(batch.run_line.run_id, []).append(told[batch.code])
    missing = {run.run_code: tuple(item.item_name for item, _ in run.items) for run in plan.runs}
    return tuple(
        RunToday(
            run=run,
            late=run.pack_on < on,
            troubles=tuple(wrong.get(run.id, ())),
            stuck=tuple(stuck.get(run.id, ())),
            missing=missing.get(run.code, ()),
        )
        for run in near
    )


def _presses(order: OrderRow, on: date) -> bool:
    """Return whether an order should be sent or come today, or should have before."""
    days = [day for day in (order.order_by, order.due_on) if day is not None]
    return order.late or order.past_due or on in days


def _weak_yeasts(on: date) -> tuple[YeastToday, ...]:
    """Return the kits of open runs that no lot serves in full, each with its best lot."""
    best: dict[tuple[date, str, str], YeastToday] = {}
    for lot in yeast_rows(on):
        for run in lot.runs if lot.status is LotStatus.RELEASED and not lot.expired else ():
            asked = (run.pack_on, run.run_code, run.kit_code)
            row = YeastToday(lot=lot, run=run)
            best[asked] = max(best.get(asked, row), row, key=lambda row: row.rank)
    return tuple(row for _, row in sorted(best.items()) if not row.serves)


def _failed_jobs() -> tuple[JobRow, ...]:
    """Return the failed jobs whose work no later job has done."""
    done: set[tuple[str, str]] = set()
    failed = []
    for job in job_rows(NEWEST_JOBS):
        if job.state == JobState.DONE:
            done.add((job.name, job.key))
        elif job.state == JobState.FAILED and (job.name, job.key) not in done:
            failed.append(job)
    return tuple(failed)
