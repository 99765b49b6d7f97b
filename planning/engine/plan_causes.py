"""What a plan's needs are for: runs, customer orders, forecast weeks.

A cause is known by a number while a plan is reckoned, and named only where it is shown. Suggested
runs are one for each day and level, because what goes into a kit is packed before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum
from functools import cached_property

from boxwort.figures import on_date
from planning.engine.plan_input import IntArray, PlanInput


class CauseKind(StrEnum):
    """What a need is for."""

    RUN = "run"
    SUGGESTED = "suggested run"
    ORDER = "customer order"
    FORECAST = "forecast"


@dataclass(frozen=True, kw_only=True)
class Cause:
    """One thing that needs something.

    ``reference`` is the code of a run or an order, else the ISO day: of a suggested run its pack
    day, of a forecast the Monday of its week. ``on`` is the pack day, the promised day, or that
    Monday. ``level`` is 0 for what is sold, more for kits that go into others; ``about`` is the row
    of a run or an order.
    """

    kind: CauseKind
    reference: str
    on: date
    level: int = 0
    about: int = 0

    @cached_property
    def named(self) -> str:
        """The cause as a sentence names it."""
        match self.kind:
            case CauseKind.RUN | CauseKind.ORDER:
                return self.reference
            case CauseKind.SUGGESTED:
                return f"the run suggested for {on_date(self.on)}"
            case CauseKind.FORECAST:
                return f"what is foreseen for the week of {on_date(self.on)}"


class Causes:
    """The numbers of all causes of a plan: runs, then orders, then weeks, then suggested runs."""

    def __init__(self, given: PlanInput) -> None:
        self.given = given
        self.orders = len(given.runs)
        self.weeks = self.orders + len(given.orders)
        self.suggested = self.weeks + int(given.forecast.shape[1])
        self._known: dict[int, Cause] = {}

    def suggested_on(self, level: int, bucket: IntArray) -> IntArray:
        """Return the numbers of the runs that are suggested for some days and a level."""
        return self.suggested + level * self.given.buckets + bucket

    def bucket_of_suggested(self, cause: int) -> tuple[int, int]:
        """Return the level and the bucket of a suggested run."""
        level, bucket = divmod(int(cause) - self.suggested, self.given.buckets)
        return level, bucket

    def of(self, cause: int) -> Cause:
        """Return what a number stands for."""
        if cause not in self._known:
            self._known[cause] = self._of(cause)
        return self._known[cause]

    def _of(self, cause: int) -> Cause:
        given = self.given
        if cause < self.orders:
            run = given.runs[cause]
            return Cause(kind=CauseKind.RUN, reference=run.code, on=run.pack_on, about=run.run_id)
        if cause < self.weeks:
            order = given.orders[cause - self.orders]
            return Cause(
                kind=CauseKind.ORDER,
                reference=order.code,
                on=order.promised_on,
                about=order.order_id,
            )
        if cause < self.suggested:
            week = given.first_week + timedelta(weeks=cause - self.weeks)
            return Cause(kind=CauseKind.FORECAST, reference=week.isoformat(), on=week)
        level, bucket = self.bucket_of_suggested(cause)
        day = given.day(bucket)
        return Cause(kind=CauseKind.SUGGESTED, reference=day.isoformat(), on=day, level=level)
