"""When boxes leave, when they arrive, how warm it is on the way, and what keeps them cool; pure.

A box leaves on a weekday on which its zone ships and the house works, and is so many days on the
way. The warm season of a zone runs from one day of the year to another, both in it, each written
month x 100 + day; over the new year where the first is the later.

>>> season = Season(first=1101, last=331)
>>> [season.holds(date(2026, *day)) for day in ((10, 31), (11, 1), (3, 31), (4, 1))]
[False, True, True, False]
>>> south = Route(weekdays="023", transit_days=3, temperature_c=16.0, warm_temperature_c=28.0,
...               season=season, ice_packs=2)
>>> leaves = south.ship_day(date(2026, 11, 26), WorkingDays(weekdays="01234"))
>>> leaves.isoformat(), south.arrival_day(leaves).isoformat()
('2026-11-26', '2026-11-29')
>>> south.temperature(leaves), south.ice_packs_for(leaves, liquid_yeast=True, boxes=3)
(28.0, 6)
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from planning.engine.calendar import EVERY_DAY, WorkingDays

_LONGEST_WAIT = 366
_DAY = timedelta(days=1)


@dataclass(frozen=True, kw_only=True)
class Season:
    """The days of each year from ``first`` to ``last``, both in it; each month x 100 + day."""

    first: int
    last: int

    def holds(self, day: date) -> bool:
        """Return whether a day lies in the season."""
        number = day.month * 100 + day.day
        if self.first <= self.last:
            return self.first <= number <= self.last
        return number >= self.first or number <= self.last


@dataclass(frozen=True, kw_only=True)
class Route:
    """How boxes travel to a zone.

    Attributes
    ----------
    weekdays: the weekdays on which boxes leave, 0 for Monday; none at all is read as every day.
    transit_days: days on the way.
    temperature_c, warm_temperature_c: how warm it is on the way, Celsius; in the warm season.
    season: the warm season; none: there is none.
    ice_packs: packs of ice that a box with liquid yeast carries in the warm season.
    """

    weekdays: str = EVERY_DAY
    transit_days: int
    temperature_c: float
    warm_temperature_c: float
    season: Season | None = None
    ice_packs: int = 0

    def ships_on(self, day: date, calendar: WorkingDays) -> bool:
        """Return whether boxes leave on a day."""
        return str(day.weekday()) in (self.weekdays or EVERY_DAY) and calendar.works(day)

    def ship_day(self, day: date, calendar: WorkingDays) -> date | None:
        """Return the first day not before ``day`` on which boxes leave.

        None: the house works on none of the zone's days within a year.
        """
        days = (day + timedelta(days=ahead) for ahead in range(_LONGEST_WAIT))
        return next((each for each in days if self.ships_on(each, calendar)), None)

    def last_ship_day(self, day: date, calendar: WorkingDays) -> date | None:
        """Return the last day not after ``day`` on which boxes leave; none: within no year."""
        days = (day - timedelta(days=back) for back in range(_LONGEST_WAIT))
        return next((each for each in days if self.ships_on(each, calendar)), None)

    def arrival_day(self, shipped_on: date) -> date:
        """Return the day on which boxes that leave on a day arrive."""
        return shipped_on + self.transit_days * _DAY

    def is_warm(self, shipped_on: date) -> bool:
        """Return whether any day of the way, both ends in it, is in the warm season."""
        if self.season is None:
            return False
        season = self.season
        days = (shipped_on + timedelta(days=after) for after in range(self.transit_days + 1))
        return any(season.holds(each) for each in days)

    def temperature(self, shipped_on: date) -> float:
        """Return how warm it is on the way, Celsius, for boxes that leave on a day."""
        return self.warm_temperature_c if self.is_warm(shipped_on) else self.temperature_c

    def ice_packs_for(self, shipped_on: date, *, liquid_yeast: bool, boxes: int = 1) -> int:
        """Return the packs of ice that boxes alike carry: none without liquid yeast, or cool."""
        return self.ice_packs * boxes if liquid_yeast and self.is_warm(shipped_on) else 0
