"""Demand as a grid: kits down, weeks across; what is foreseen, what is ordered, what is left."""

from __future__ import annotations

import hashlib
from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

import numpy as np

from boxwort.accounts.queries import site_settings
from planning.engine.consumption import IntArray, forecast_left
from planning.models import CustomerOrderState, Forecast, OrderLine
from recipes.models import Kit

Cells = Mapping[tuple[int, date], int]
"""Kits by kit and Monday."""


@dataclass(frozen=True, kw_only=True)
class DemandCell:
    """Kits wanted in one week.

    ``ordered`` are firmly ordered, of which ``dispatched`` have left; ``left`` is what orders leave
    of the ``forecast``.
    """

    ordered: int = 0
    dispatched: int = 0
    forecast: int = 0
    left: int = 0

    @property
    def kits(self) -> int:
        """What is still to be sent: what is ordered, and what is left of the forecast."""
        return self.ordered - self.dispatched + self.left

    def __add__(self, other: DemandCell) -> DemandCell:
        """Return both together."""
        return DemandCell(
            ordered=self.ordered + other.ordered,
            dispatched=self.dispatched + other.dispatched,
            forecast=self.forecast + other.forecast,
            left=self.left + other.left,
        )


@dataclass(frozen=True, kw_only=True)
class DemandRow:
    """One kit's demand, a cell for each week of the grid."""

    kit_id: int
    kit_code: str
    kit_name: str
    cells: tuple[DemandCell, ...]

    @property
    def total(self) -> DemandCell:
        """All its weeks together."""
        return sum(self.cells, start=DemandCell())

    @property
    def kits(self) -> int:
        """What to plan for over all the weeks."""
        return self.total.kits


@dataclass(frozen=True, kw_only=True)
class DemandGrid:
    """Weeks, each by its Monday, and the kits wanted in any of them.

    ``fingerprint`` is of all that is foreseen for these weeks.
    """

    weeks: tuple[date, ...]
    rows: tuple[DemandRow, ...]
    fingerprint: str

    @property
    def totals(self) -> tuple[DemandCell, ...]:
        """All kits together, a cell for each week."""
        columns = zip(*(row.cells for row in self.rows), strict=True)
        return tuple(sum(column, start=DemandCell()) for column in columns)

    @property
    def total(self) -> DemandCell:
        """All kits and weeks together."""
        return sum((row.total for row in self.rows), start=DemandCell())


def demand_grid(on: date, weeks: int = 12, *, also: Collection[str] = ()) -> DemandGrid:
    """Return the demand of so many weeks, from the week that holds ``on``, by kit code.

    Orders of the weeks around take from the forecast of these as the house says. ``also``: codes
    of kits that stand in the grid though nothing of them is wanted. At most four statements.
    """
    settings = site_settings()
    back, forward = settings.consume_back_weeks, settings.consume_forward_weeks
    first, around = monday_of(on), back + forward
    days = _mondays(first - timedelta(weeks=around), weeks + 2 * around)
    foreseen = _foreseen(days)
    ordered, dispatched = _ordered(days)
    shown = days[around : around + weeks]
    kits = _kits({kit for kit, day in (*foreseen, *ordered) if day in shown}, also)
    left = forecast_left(
        _array(ordered, kits, days), _array(foreseen, kits, days), back=back, forward=forward
    )
    rows = (
        DemandRow(
            kit_id=kit_id,
            kit_code=code,
            kit_name=name,
            cells=tuple(
                DemandCell(
                    ordered=ordered.get((kit_id, day), 0),
                    dispatched=dispatched.get((kit_id, day), 0),
                    forecast=foreseen.get((kit_id, day), 0),
                    left=int(left[place, around + week]),
                )
                for week, day in enumerate(shown)
            ),
        )
        for place, (kit_id, (code, name)) in enumerate(kits.items())
    )
    return DemandGrid(weeks=shown, rows=tuple(rows), fingerprint=_mark(foreseen, shown))


def forecast_mark(on: date, weeks: int) -> str:
    """Return the fingerprint of what is foreseen for so many weeks; one statement."""
    days = _mondays(monday_of(on), weeks)
    return _mark(_foreseen(days), days)


def monday_of(day: date) -> date:
    """Return the Monday of the week that holds the day.

    >>> monday_of(date(2026, 11, 25)).isoformat()
    '2026-11-23'
    """
    return day - timedelta(days=day.weekday())


def _mondays(first: date, weeks: int) -> tuple[date, ...]:
    return tuple(first + timedelta(weeks=week) for week in range(weeks))


def _mark(foreseen: Cells, days: Collection[date]) -> str:
    said = sorted((day, kit, kits) for (kit, day), kits in foreseen.items() if day in days)
    written = ";".join(f"{day.isoformat()},{kit},{kits}" for day, kit, kits in said)
    return hashlib.sha256(f"{min(days)}/{len(days)}:{written}".encode()).hexdigest()


def _foreseen(days: tuple[date, ...]) -> Cells:
    rows = Forecast.objects.filter(week_on__gte=days[0], week_on__lte=days[-1])
    values = rows.values_list("kit_id", "week_on", "kits")
    return {(kit_id, week_on): kits for kit_id, week_on, kits in values}


def _ordered(days: tuple[date, ...]) -> tuple[Cells, Cells]:
    """Return what is ordered by kit and week, and what has left of it.

    Of a cancelled order only what had left was wanted.
    """
    rows = OrderLine.objects.filter(
        kit__isnull=False,
        order__promised_on__gte=days[0],
        order__promised_on__lt=days[-1] + timedelta(weeks=1),
    ).exclude(order__state=CustomerOrderState.CANCELLED, dispatched=0)
    ordered: dict[tuple[int, date], int] = defaultdict(int)
    dispatched: dict[tuple[int, date], int] = defaultdict(int)
    for kit_id, day, quantity, gone, state in rows.values_list(
        "kit_id", "order__promised_on", "quantity", "dispatched", "order__state"
    ):
        cancelled = state == CustomerOrderState.CANCELLED
        ordered[kit_id, monday_of(day)] += gone if cancelled else quantity
        dispatched[kit_id, monday_of(day)] += gone
    return dict(ordered), dict(dispatched)


def _kits(wanted: Collection[int], also: Collection[str]) -> dict[int, tuple[str, str]]:
    """Return code and name of kits by id, in the order of their codes."""
    found = Kit.objects.filter(pk__in=wanted) | Kit.objects.filter(item__code__in=also)
    rows = found.order_by("item__code").values_list("pk", "item__code", "item__name")
    return {kit_id: (code, name) for kit_id, code, name in rows}


def _array(cells: Cells, kits: Collection[int], days: tuple[date, ...]) -> IntArray:
    return np.array(
        [[cells.get((kit, day), 0) for day in days] for kit in kits], dtype=np.int64
    ).reshape(len(kits), len(days))
