"""The last day on which crushed grain, an opened container and what has a shelf life are fresh.

A clock starts on a day and runs for whole days; the last of them still counts, and what it times
is stale from the day after, as a lot is expired from the day after its best-before date.

>>> crushed = Clock(kind=ClockKind.CRUSHED, from_on=date(2026, 11, 2), days=28)
>>> crushed.last_day.isoformat()
'2026-11-30'
>>> last_fresh_day([crushed, Clock(kind=ClockKind.SHELF, from_on=date(2026, 9, 1), days=60)])
Clock(kind=<ClockKind.SHELF: 'shelf life'>, from_on=datetime.date(2026, 9, 1), days=60)

How many days are right for an item is the house's experience and its maker's word; none is given
here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from boxwort.working import not_negative


class ClockKind(StrEnum):
    """What started a clock, in the words a page shows."""

    CRUSHED = "crushed life"
    OPENED = "opened life"
    SHELF = "shelf life"


@dataclass(frozen=True, kw_only=True)
class Clock:
    """Whole days that something keeps from a day on."""

    kind: ClockKind
    from_on: date
    days: int

    def __post_init__(self) -> None:
        not_negative(self.kind.value, self.days)

    @property
    def last_day(self) -> date:
        """The last day on which it is fresh."""
        return self.from_on + timedelta(days=self.days)


def clock(kind: ClockKind, from_on: date | None, days: int | None) -> Clock | None:
    """Return the clock that runs, or None where it was not started or the item names no life."""
    if from_on is None or days is None:
        return None
    return Clock(kind=kind, from_on=from_on, days=days)


def last_fresh_day(clocks: Iterable[Clock | None]) -> Clock | None:
    """Return the clock that runs out first; None where none runs."""
    running = [each for each in clocks if each is not None]
    return min(running, key=lambda each: each.last_day, default=None)
