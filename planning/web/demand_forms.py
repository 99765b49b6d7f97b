"""The demand grid as a form: a box for each kit and week."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any

from django import forms

from boxwort.web.numbers import number_box
from planning.queries.demand import DemandCell, DemandGrid, DemandRow
from planning.services.forecast import MOST_KITS, ForecastCell, ShownGrid
from recipes.models import Kit

WEEKS = 12
MOST_WEEKS = 26
KIT = "kit"
"""The box that names a kit which stands in the grid though nothing of it is wanted yet."""


class WindowForm(forms.Form):
    """Which weeks are shown, and which kits stand among them though nothing is wanted of them."""

    on = forms.DateField(required=False)
    weeks = forms.IntegerField(required=False, min_value=1, max_value=MOST_WEEKS)

    def window(self, today: date) -> tuple[date, int]:
        """Return the day from whose week on the grid is shown, and how many weeks."""
        said = self.cleaned_data if self.is_valid() else {}
        return said.get("on") or today, said.get("weeks") or WEEKS


@dataclass(frozen=True, kw_only=True)
class GridCell:
    """What is wanted in a week, and the box to type the forecast in."""

    cell: DemandCell
    box: forms.BoundField


@dataclass(frozen=True, kw_only=True)
class GridRow:
    """A kit with the boxes of its weeks."""

    row: DemandRow
    cells: tuple[GridCell, ...]


class DemandForm(forms.Form):
    """The forecast of some weeks, a box for each kit and week; an empty box foresees nothing."""

    on = forms.DateField(widget=forms.HiddenInput)
    weeks = forms.IntegerField(widget=forms.HiddenInput, min_value=1, max_value=MOST_WEEKS)
    fingerprint = forms.CharField(widget=forms.HiddenInput, max_length=64)

    def __init__(self, grid: DemandGrid, data: Mapping[str, Any] | None = None) -> None:
        self.grid = grid
        initial = {
            "on": grid.weeks[0],
            "weeks": len(grid.weeks),
            "fingerprint": grid.fingerprint,
        }
        super().__init__(data, initial=initial)
        for at, row in enumerate(grid.rows):
            for week, cell in enumerate(row.cells):
                self._add(row, at, week, cell)

    def _add(self, row: DemandRow, at: int, week: int, cell: DemandCell) -> None:
        label = f"{row.kit_name}, week of {self.grid.weeks[week]:%d %b}"
        self.fields[_name(row, self.grid.weeks[week])] = forms.IntegerField(
            label=label,
            required=False,
            min_value=0,
            max_value=MOST_KITS,
            initial=cell.forecast or None,
            widget=number_box(**{"aria-label": label, "data-row": at, "data-column": week}),
        )

    def rows(self) -> Iterator[GridRow]:
        """Yield the kits with their boxes."""
        for row in self.grid.rows:
            yield GridRow(
                row=row,
                cells=tuple(
                    GridCell(cell=cell, box=self[_name(row, week)])
                    for week, cell in zip(self.grid.weeks, row.cells, strict=True)
                ),
            )

    def faults(self) -> list[str]:
        """Return what is wrong with the boxes, each with the name of its kit and week."""
        return [
            f"{self.fields[name].label}: {words[0]}"
            for name, words in self.errors.items()
            if name in self.fields and name.startswith("kits-")
        ]

    def cells(self) -> list[ForecastCell]:
        """Return what every box foresees."""
        kits = Kit.objects.select_related("item").in_bulk([row.kit_id for row in self.grid.rows])
        return [
            ForecastCell(
                kit=kits[row.kit_id],
                week_on=week,
                kits=self.cleaned_data.get(_name(row, week)) or 0,
            )
            for row in self.grid.rows
            for week in self.grid.weeks
        ]

    def shown(self) -> ShownGrid:
        """Return what the person saw."""
        return ShownGrid(
            first_week=self.grid.weeks[0],
            weeks=len(self.grid.weeks),
            fingerprint=self.cleaned_data["fingerprint"],
        )


def _name(row: DemandRow, week: date) -> str:
    return f"kits-{row.kit_id}-{week.isoformat()}"
