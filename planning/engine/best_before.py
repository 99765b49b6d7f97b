"""Best-before of a kit: the earliest last day of what is in the box, and what sets it.

Each component holds until a last day of its own: an ingredient lot until its best-before date or
until its crushed, opened or shelf life ends; packed yeast as long as its packs pitch the floor;
the hops as long as the kit's IBU stay within a tenth of the target; the kit as long as the house
says. Yeast that is added at dispatch is dated on its own and is no component. The kit is expired
from the day *after*.

>>> found = best_before([
...     Component(name="Pale malt, crushed", reason="crushed life", last_day=date(2027, 1, 8)),
...     Component(name="Hops", reason="bitterness", last_day=date(2027, 3, 1)),
... ])
>>> found.day.isoformat(), found.set_by.name
('2027-01-08', 'Pale malt, crushed')

The IBU of aged hops are those of the frozen bill: grams x alpha on the day x IBU per gram.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.working import Term, Working, positive
from planning.engine.pitching import LONGEST_DAYS, last_day

LEAST_OF_TARGET = 0.90
"""IBU within -10 % of the target."""


@dataclass(frozen=True, kw_only=True)
class Component:
    """Something in the box: the last day on which it holds, and what ends then."""

    name: str
    reason: str
    last_day: date


@dataclass(frozen=True, kw_only=True)
class BestBefore:
    """The last good day of a kit; ``rows`` is every component, the first to fail at the top."""

    rows: tuple[Component, ...]

    @property
    def set_by(self) -> Component | None:
        """The component that sets the day; None: nothing in the kit has a last day."""
        return next(iter(self.rows), None)

    @property
    def day(self) -> date | None:
        """The last day on which everything in the box holds."""
        return self.set_by.last_day if self.set_by else None

    def working(self, packed_on: date) -> Working | None:
        """Return the days that the kit holds, with those of each component; None: it has no day."""
        parts = tuple(_held(row, packed_on) for row in self.rows)
        if not self.set_by or not parts:
            return None
        return Working(
            name="Best before, days from packing",
            formula="least of parts",
            terms=(),
            value=parts[0].value,
            unit="days",
            source="our own: everything in the box must hold",
            notes=(f"Set by {self.set_by.name}: {self.set_by.reason}.", *parts[0].notes),
            parts=parts,
        )


def _held(row: Component, packed_on: date) -> Working:
    days = float((row.last_day - packed_on).days)
    return Working(
        name=f"{row.name}: {row.reason}",
        formula="last good day - pack day",
        terms=(
            Term(name="last good day", value=days, unit="days from packing"),
            Term(name="pack day", value=0.0, unit="days from packing"),
        ),
        value=days,
        unit="days",
        source="our own: everything in the box must hold",
        notes=(
            f"Packed on {packed_on.day} {packed_on:%b %Y}, good until {row.last_day.day} "
            f"{row.last_day:%b %Y}.",
        ),
    )


def best_before(components: Iterable[Component]) -> BestBefore:
    """Return the best-before of a kit from what is in its box."""
    return BestBefore(rows=tuple(sorted(components, key=lambda row: (row.last_day, row.name))))


def lasting(
    name: str, reason: str, holds: Callable[[date], bool], packed_on: date
) -> Component | None:
    """Return a component that holds until a day, which is searched for from the pack day on.

    Once it fails it must go on failing. None: it holds for three years and more. What does not
    hold on the pack day itself is given that day, for no box is dated before it was packed.
    """
    if holds(packed_on + timedelta(days=LONGEST_DAYS)):
        return None
    last = last_day(holds, packed_on)
    if last is None:
        return Component(
            name=name, reason=f"{reason}, not even on the pack day", last_day=packed_on
        )
    return Component(name=name, reason=reason, last_day=last)


def bitter_enough(ibu: float, target_ibu: float) -> bool:
    """Return whether a kit gives its bitterness, within a tenth below the target.

    >>> bitter_enough(36.0, 40.0), bitter_enough(35.9, 40.0)
    (True, False)
    """
    return ibu >= LEAST_OF_TARGET * positive("target IBU", target_ibu)
