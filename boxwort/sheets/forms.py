"""The form of a workbook: which sheets it may hold, with which columns, and the rows read from it.

A column has one title, with its unit in brackets ("Colour (°L)"), or several titles for several
units, of which a sheet uses one. An amount takes two columns, a number and its unit.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from decimal import Decimal
from typing import Any

from boxwort.quantities import Measure, Unit, stocked
from boxwort.sheets.cells import Reader, positive, unit


@dataclass(frozen=True, kw_only=True)
class Problem:
    """What is wrong at one place of a workbook, and what to do about it.

    Attributes
    ----------
    sheet, row, column, cell: where ("Lots", 7, "Amount", "C7"); row 0 is the sheet as a whole.
    value: what stands there.
    what, remedy: one sentence each.
    """

    sheet: str
    row: int
    column: str
    cell: str
    value: str
    what: str
    remedy: str

    def as_json(self) -> dict[str, Any]:
        """Return plain values for a job's result and the API."""
        return asdict(self)


@dataclass(frozen=True, kw_only=True)
class Amount:
    """A number of a unit, as it was written."""

    number: Decimal
    unit: Unit

    @property
    def quantity(self) -> int:
        """Return the amount in whole units of stock."""
        return stocked(self.number, self.unit.symbol)

    @property
    def measure(self) -> Measure:
        """Return what is counted: mass, volume or pieces."""
        return self.unit.measure


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column: the name its value goes by, and a reader for each title it may stand under.

    ``worked_out`` where the house writes a formula: one that still stands there is no value.
    """

    name: str
    readers: Mapping[str, Reader]
    required: bool = True
    default: Any = None
    worked_out: bool = False

    @property
    def title(self) -> str:
        """Return the usual title."""
        return next(iter(self.readers))

    @property
    def titles(self) -> str:
        """Return every title it may stand under, for people."""
        return " or ".join(self.readers)


@dataclass(frozen=True, kw_only=True)
class AmountColumns:
    """Two columns, a number and its unit, read as one :class:`Amount`."""

    name: str
    title: str = "Amount"
    unit_title: str = "Unit"
    reader: Reader = positive
    required: bool = True
    default: Any = None

    def parts(self) -> tuple[Column, Column]:
        """Return the two columns as the sheet holds them."""
        return (
            Column(
                name=f"{self.name} number",
                readers={self.title: self.reader},
                required=self.required,
            ),
            Column(
                name=f"{self.name} unit", readers={self.unit_title: unit}, required=self.required
            ),
        )


def column(
    name: str, title: str, reader: Reader, *, required: bool = True, default: Any = None
) -> Column:
    """Return a column with one title."""
    return Column(name=name, readers={title: reader}, required=required, default=default)


def optional(name: str, title: str, reader: Reader, default: Any = None) -> Column:
    """Return a column with one title whose cells may be empty."""
    return column(name, title, reader, required=False, default=default)


@dataclass(frozen=True, kw_only=True)
class SheetForm:
    """A sheet: its name, its columns, and the columns that together name a row once.

    ``ignored`` are titles of columns that nothing is read from, and ``foot`` the word that begins
    a row of totals.
    """

    name: str
    columns: tuple[Column | AmountColumns, ...]
    unique: tuple[str, ...] = ()
    ignored: tuple[str, ...] = ()
    foot: str = ""

    @property
    def required_titles(self) -> list[str]:
        """Return the titles of the columns that every row fills in."""
        return [each.titles for each in self.single_columns() if each.required]

    @property
    def optional_titles(self) -> list[str]:
        """Return the titles of the columns that may be empty or left out."""
        return [each.titles for each in self.single_columns() if not each.required]

    def single_columns(self) -> tuple[Column, ...]:
        """Return every column as the sheet holds it, an amount as two."""
        singles: list[Column] = []
        for each in self.columns:
            singles.extend(each.parts() if isinstance(each, AmountColumns) else (each,))
        return tuple(singles)


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a value stands: the title of its column, its address and what a person sees there."""

    title: str
    address: str
    shown: str


@dataclass(kw_only=True)
class Row:
    """One row as read. A row that is not ``sound`` holds None where a cell could not be read."""

    sheet: str
    number: int
    values: dict[str, Any] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)
    sound: bool = True

    def __getitem__(self, name: str) -> Any:
        return self.values[name]

    def problem(self, name: str, what: str, remedy: str) -> Problem:
        """Return a problem of this row, at the column of ``name`` ("": the row's first column)."""
        first = next(iter(self.places.values()))
        place = self.places.get(name) or self.places.get(f"{name} number") or first
        return Problem(
            sheet=self.sheet,
            row=self.number,
            column=place.title,
            cell=place.address,
            value=place.shown,
            what=what,
            remedy=remedy,
        )
