"""One item of a plan through time: what is needed, what comes, what goes off, what is left.

Amounts are whole units of stock; what is needed in alpha acid is put to the planning alpha of its
day. Conventions as everywhere: receipts at the start of a bucket, demand inside it, projected its
end. Weeks are those of the calendar, from Monday, the first one from today on.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from planning.engine.plan import PlanResult
from planning.engine.plan_input import DAYS_A_WEEK, IntArray


@dataclass(frozen=True, kw_only=True)
class Phase:
    """A week of an item; ``week_on`` is its Monday.

    ``scheduled`` is what is on order or will be packed by open runs, ``expired`` what can no longer
    be used, ``net`` what is missing, ``planned`` what the plan orders or suggests to make,
    ``projected`` what is left at its end.
    """

    week_on: date
    gross: int
    scheduled: int
    expired: int
    net: int
    planned: int
    projected: int


def phases(plan: PlanResult, item: int) -> tuple[Phase, ...]:
    """Return the weeks of an item that is bought."""
    given = plan.given
    rows = _Rows(plan, item)
    starts = _week_starts(plan)
    ends = [*starts[1:], given.buckets]
    sums = {
        name: np.add.reduceat(getattr(rows, name), starts)
        for name in ("gross", "scheduled", "expired", "net", "planned")
    }
    return tuple(
        Phase(
            week_on=_monday(given.day(start)),
            projected=int(rows.projected[end - 1]),
            **{name: int(found[week]) for name, found in sums.items()},
        )
        for week, (start, end) in enumerate(zip(starts, ends, strict=True))
    )


def _week_starts(plan: PlanResult) -> list[int]:
    days = DAYS_A_WEEK - plan.given.today.weekday()
    return [0, *range(days, plan.given.buckets, DAYS_A_WEEK)]


def _monday(day: date) -> date:
    return day - timedelta(days=day.weekday())


class _Rows:
    """The rows of an item by day."""

    def __init__(self, plan: PlanResult, item: int) -> None:
        buckets = plan.given.buckets
        table = plan.table
        mine = np.flatnonzero(table.item == item)
        first, last, quantity = table.first[mine], table.last[mine], table.quantity[mine]
        taken = self._taken(plan, mine)
        left = quantity[:, None] - np.cumsum(taken, axis=1)
        day = np.arange(buckets)
        usable = (first[:, None] <= day) & (last[:, None] >= day)
        self.gross = self._gross(plan, item)
        self.scheduled = self._on_days(first, quantity * (mine >= table.lots), buckets)
        over = np.where(
            last < buckets, left[np.arange(len(mine)), np.clip(last, 0, buckets - 1)], 0
        )
        self.expired = self._on_days(np.maximum(last + 1, 0), over, buckets)
        nothing = np.zeros(buckets, dtype=np.int64)
        self.net = plan.lacking.get(item, nothing)
        buys = [buy for buy in plan.buys if buy.item == item]
        self.planned = self._on_days(
            np.array([buy.bucket for buy in buys], dtype=np.int64),
            np.array([buy.quantity for buy in buys], dtype=np.int64),
            buckets,
        )
        bought = np.cumsum(self.planned) - np.cumsum(plan.for_needs.get(item, nothing))
        self.projected = (left * usable).sum(axis=0) + np.maximum(bought, 0)

    def _on_days(self, days: IntArray, quantity: IntArray, buckets: int) -> IntArray:
        found = np.zeros(buckets, dtype=np.int64)
        inside = days < buckets
        np.add.at(found, days[inside], quantity[inside])
        return found

    def _gross(self, plan: PlanResult, item: int) -> IntArray:
        needs = plan.needs
        mine = np.flatnonzero(needs.item == item)
        quantity = needs.quantity[mine].copy()
        by_alpha = needs.alpha[mine] > 0
        if by_alpha.any():
            strength = plan.given.strength(item)[needs.bucket[mine]]
            quantity = np.where(by_alpha, np.ceil(needs.alpha[mine] / strength), quantity)
        return self._on_days(needs.bucket[mine], quantity.astype(np.int64), plan.given.buckets)

    def _taken(self, plan: PlanResult, mine: IntArray) -> IntArray:
        """Return what needs take of each supply, [supplies, buckets]."""
        found = np.zeros((len(mine), plan.given.buckets))
        row = np.full(len(plan.table) + 1, -1, dtype=np.int64)
        row[mine] = np.arange(len(mine))
        pegs, needs = plan.netting.pegs, plan.needs
        used = np.flatnonzero((pegs.supply >= 0) & (row[pegs.supply] >= 0))
        np.add.at(found, (row[pegs.supply[used]], needs.bucket[pegs.need[used]]), plan.takes[used])
        upto = np.minimum(np.rint(np.cumsum(found, axis=1)), plan.table.quantity[mine][:, None])
        taken: IntArray = np.diff(upto, axis=1, prepend=0).astype(np.int64)
        return taken
