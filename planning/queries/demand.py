"""Demand as a grid: kits down, weeks across."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from datetime import date, timedelta

from planning.models import Demand, DemandSource


@dataclass(frozen=True, kw_only=True)
class DemandCell:
    """Kits wanted in one week: firmly ordered, and forecast."""

    ordered: int
    forecast: int

    @property
    def kits(self) -> int:
        """What to plan for: a forecast is used up by the orders that come in for its week."""
        return max(self.ordered, self.forecast)


@dataclass(frozen=True, kw_only=True)
class DemandRow:
    """One kit's demand, a cell for each week of the grid."""

    kit_id: int
    kit_code: str
    kit_name: str
    cells: tuple[DemandCell, ...]

    @property
    def kits(self) -> int:
        """What to plan for over all the weeks."""
        return sum(cell.kits for cell in self.cells)


@dataclass(frozen=True, kw_only=True)
class DemandGrid:
    """Weeks, each by its Monday, and the kits wanted in any of them."""

    weeks: tuple[date, ...]
    rows: tuple[DemandRow, ...]


def demand_grid(on: date, weeks: int = 12) -> DemandGrid:
    """Return the demand of so many weeks, from the week that holds ``on``, by kit code."""
    first = monday_of(on)
    days = tuple(first + timedelta(weeks=week) for week in range(weeks))
    found = Demand.objects.filter(
        wanted_on__gte=first, wanted_on__lt=first + timedelta(weeks=weeks)
    )
    totals: dict[int, dict[tuple[date, str], int]] = defaultdict(lambda: defaultdict(int))
    names: dict[int, tuple[str, str]] = {}
    for demand in found.select_related("kit__item"):
        totals[demand.kit_id][monday_of(demand.wanted_on), demand.source] += demand.kits
        names[demand.kit_id] = demand.kit.item.code, demand.kit.item.name
    rows = (
        DemandRow(
            kit_id=kit_id,
            kit_code=code,
            kit_name=name,
            cells=tuple(
                DemandCell(
                    ordered=totals[kit_id][day, DemandSource.ORDER],
                    forecast=totals[kit_id][day, DemandSource.FORECAST],
                )
                for day in days
            ),
        )
        for kit_id, (code, name) in sorted(names.items(), key=lambda pair: pair[1])
    )
    return DemandGrid(weeks=days, rows=tuple(rows))


def monday_of(day: date) -> date:
    """Return the Monday of the week that holds the day.

    >>> monday_of(date(2026, 11, 25)).isoformat()
    '2026-11-23'
    """
    return day - timedelta(days=day.weekday())
