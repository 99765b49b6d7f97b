"""A workbook read by its form: typed rows, and every problem at once.

Blank rows are skipped, and columns may stand in any order. What the form does not know (a sheet, a
column) is a problem and not ignored, for it is most often a known name with a slip in it. Formulas
are not taken: their value is whatever the last program made of it.
"""

from __future__ import annotations

import difflib
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta
from typing import Any

from openpyxl.utils import get_column_letter

from boxwort.sheets.cells import Cell, Reader, Unreadable
from boxwort.sheets.forms import Amount, AmountColumns, Column, Place, Problem, Row, SheetForm
from boxwort.sheets.opening import MOST_ROWS, Sheet, opened

#: Called with how many rows are done, of how many, and what is being done.
Report = Callable[[int, int, str], None]
ROWS_TO_A_WORD = 100
MOST_ABOVE = 20
"""Rows that may stand above a table that does not begin in the first row."""


@dataclass(kw_only=True)
class Reading:
    """The rows of each sheet that the form names, and what is wrong with the workbook."""

    rows: dict[str, list[Row]] = field(default_factory=dict)
    problems: list[Problem] = field(default_factory=list)

    @property
    def count(self) -> int:
        """Return how many rows there are."""
        return sum(len(rows) for rows in self.rows.values())

    def sound(self, sheet: str) -> list[Row]:
        """Return the rows of a sheet whose every cell could be read."""
        return [row for row in self.rows[sheet] if row.sound]

    def named(self, sheet: str, name: str) -> set[Any]:
        """Return every value read in a column, also of rows that are wrong elsewhere."""
        return {row.values.get(name) for row in self.rows[sheet]} - {None}

    def shift(self, days: int) -> None:
        """Move every date by whole days."""
        for row in (row for rows in self.rows.values() for row in rows):
            for name, value in row.values.items():
                if isinstance(value, date):
                    row.values[name] = value + timedelta(days=days)

    def add(self, row: Row, name: str, what: str, remedy: str) -> None:
        """Note a problem of a row."""
        self.problems.append(row.problem(name, what, remedy))


def unheard(done: int, total: int, stage: str) -> None:
    """Report to nobody."""


def workbook_read(content: bytes, forms: Sequence[SheetForm], report: Report = unheard) -> Reading:
    """Return what a file holds, by the forms of its sheets; a table is known by its titles.

    Raises
    ------
    Refusal: when the file is no workbook, or too big (see :mod:`boxwort.sheets.opening`).
    """
    reading = Reading(rows={form.name: [] for form in forms})
    by_name = {form.name.casefold(): form for form in forms}
    sheets = opened(content)
    counted = _Counted(report, sum(max(len(sheet.rows) - 1, 0) for sheet in sheets))
    for sheet in sheets:
        named = by_name.get(sheet.name.strip().casefold())
        form = named if sheet.name else _form_of_table(sheet, forms)
        if form is not None:
            _read_sheet(reading, sheet, form, counted)
        elif sheet.rows:
            reading.problems.append(_unknown_sheet(sheet.name, [form.name for form in forms]))
    return reading


def tables_read(content: bytes, form: SheetForm) -> Reading:
    """Return the rows of each sheet that holds a table of this form, wherever in it that begins.

    It begins at the row whose first cell is the title of the form's first column. Sheets without
    one are passed over. The rows go by the names of their sheets.

    Raises
    ------
    Refusal: when the file is no workbook, or too big (see :mod:`boxwort.sheets.opening`).
    """
    reading = Reading()
    first = _same(form.single_columns()[0].title)
    for sheet in opened(content):
        titles = [row[0].shown if row else "" for row in sheet.rows[:MOST_ABOVE]]
        heading = next((at for at, title in enumerate(titles) if _same(title) == first), None)
        if heading is not None:
            reading.rows[sheet.name] = []
            named = replace(form, name=sheet.name)
            _read_sheet(reading, sheet, named, _Counted(unheard, 0), heading=heading)
    return reading


class _Counted:
    """Rows as they are checked, told now and then: a word costs more than a row."""

    def __init__(self, report: Report, total: int) -> None:
        self.report = report
        self.total = total
        self.done = 0

    def row(self, sheet: str) -> None:
        if self.done % ROWS_TO_A_WORD == 0:
            self.report(self.done, self.total, f"checking {sheet}")
        self.done += 1


def _read_sheet(
    reading: Reading, sheet: Sheet, form: SheetForm, counted: _Counted, *, heading: int = 0
) -> None:
    if not sheet.rows:
        return
    if sheet.too_long:
        what = f"The sheet has more than {MOST_ROWS:,} rows."
        reading.problems.append(_of_sheet(form.name, what, "Split it into several workbooks."))
        return
    header = _Header(sheet.rows[heading], form, row=heading + 1)
    reading.problems.extend(header.problems)
    first_seen: dict[tuple[Any, ...], int] = {}
    for number, cells in enumerate(sheet.rows[heading + 1 :], start=heading + 2):
        counted.row(form.name)
        if all(cell.empty for cell in cells) or _is_foot(cells, form):
            continue
        row = _row(reading, header, number, cells)
        reading.rows[form.name].append(row)
        _refuse_second_naming(reading, row, form, first_seen)


def _is_foot(cells: Sequence[Cell], form: SheetForm) -> bool:
    """Return whether a row holds totals alone."""
    if not form.foot or cells[0].shown.strip() != form.foot:
        return False
    return all(cell.empty or cell.is_formula for cell in cells[1:])


class _Header:
    """Which column of a sheet holds what, from the row of its titles."""

    def __init__(self, cells: Sequence[Cell], form: SheetForm, *, row: int) -> None:
        self.form = form
        self.row = row
        self.problems: list[Problem] = []
        self.found: dict[str, tuple[int, str, Reader]] = {}
        columns = form.single_columns()
        titles = {
            _same(title): (column, title, reader)
            for column in columns
            for title, reader in column.readers.items()
        }
        for index, cell in enumerate(cells):
            if not cell.empty:
                self._place(index, cell, titles)
        self.missing = {column.name for column in columns if column.name not in self.found}
        for column in columns:
            if column.required and column.name in self.missing:
                what = f"The column “{column.title}” is missing."
                remedy = f"Add a column with the header “{column.title}”."
                self.problems.append(_of_sheet(form.name, what, remedy))

    def _place(self, index: int, cell: Cell, titles: dict[str, tuple[Column, str, Reader]]) -> None:
        known = titles.get(_same(cell.shown))
        if known is None and _same(cell.shown) in map(_same, self.form.ignored):
            return
        if known is None:
            what = "This column is not known here."
            near = _nearest(cell.shown, [title for _, title, _ in titles.values()])
            self._wrong(index, cell, what, f"{near}Known columns: {self._known(titles)}.")
            return
        column, title, reader = known
        if column.name in self.found:
            what = f"“{self.found[column.name][1]}” already says this."
            self._wrong(index, cell, what, "Keep one of the two columns.")
            return
        self.found[column.name] = (index, title, reader)

    def _known(self, titles: dict[str, tuple[Column, str, Reader]]) -> str:
        return ", ".join(title for _, title, _ in titles.values())

    def _wrong(self, index: int, cell: Cell, what: str, remedy: str) -> None:
        address = f"{get_column_letter(index + 1)}{self.row}"
        self.problems.append(
            Problem(
                sheet=self.form.name,
                row=self.row,
                column=cell.shown,
                cell=address,
                value=cell.shown,
                what=what,
                remedy=remedy,
            )
        )


def _row(reading: Reading, header: _Header, number: int, cells: Sequence[Cell]) -> Row:
    row = Row(sheet=header.form.name, number=number)
    for column in header.form.single_columns():
        row.values[column.name] = _value(reading, row, header, column, cells)
    for each in header.form.columns:
        if isinstance(each, AmountColumns):
            row.values[each.name] = _amount(reading, row, each)
    return row


def _value(
    reading: Reading, row: Row, header: _Header, column: Column, cells: Sequence[Cell]
) -> Any:
    if column.name in header.missing:
        row.sound = row.sound and not column.required
        return column.default
    index, title, reader = header.found[column.name]
    cell = cells[index] if index < len(cells) else Cell(value=None)
    address = f"{get_column_letter(index + 1)}{row.number}"
    row.places[column.name] = Place(title=title, address=address, shown=cell.shown)
    try:
        if cell.empty or (column.worked_out and cell.is_formula):
            return _of_empty(column)
        _refuse_uncertain(cell)
        return reader(cell)
    except Unreadable as wrong:
        row.sound = False
        reading.add(row, column.name, wrong.what, wrong.remedy)
        return None


def _of_empty(column: Column) -> Any:
    if column.required:
        what = "The cell is empty."
        raise Unreadable(what, "Fill it in, or empty the whole row.")
    return column.default


def _refuse_uncertain(cell: Cell) -> None:
    if cell.is_formula:
        what = "The cell holds a formula."
        raise Unreadable(what, "Put its value in its place (copy, then paste values only).")
    if cell.is_error:
        what = "The cell holds an error."
        raise Unreadable(what, "Put the right value in its place.")


def _amount(reading: Reading, row: Row, column: AmountColumns) -> Amount | None:
    number_name, unit_name = (part.name for part in column.parts())
    number, unit = row.values.pop(number_name), row.values.pop(unit_name)
    if number is not None and unit is not None:
        amount = Amount(number=number, unit=unit)
        if amount.quantity > 0:
            return amount
        row.sound = False
        reading.add(row, number_name, "This is less than stock is counted in.", "Write more.")
    elif row.sound and (number is not None or unit is not None):
        row.sound = False
        missing = unit_name if unit is None else number_name
        what = "An amount needs a number and a unit."
        reading.add(row, missing, what, "Fill in both cells, or neither.")
    return None if column.default is None else column.default


def _refuse_second_naming(
    reading: Reading, row: Row, form: SheetForm, first_seen: dict[tuple[Any, ...], int]
) -> None:
    key = tuple(row.values.get(name) for name in form.unique)
    if not form.unique or not row.sound:
        return
    first = first_seen.setdefault(key, row.number)
    if first != row.number:
        row.sound = False
        what = f"Row {first} already says this."
        reading.add(row, form.unique[0], what, "Remove one of the two rows, or correct it.")


def _form_of_table(sheet: Sheet, forms: Sequence[SheetForm]) -> SheetForm | None:
    """Return the form that most titles of a table are of, wanting the fewest that it must have."""
    written = {_same(cell.shown) for cell in sheet.rows[0]}

    def fit(form: SheetForm) -> tuple[int, int]:
        found = [
            column
            for column in form.single_columns()
            if written & {_same(title) for title in column.readers}
        ]
        required = sum(column.required for column in form.single_columns())
        return len(found), sum(column.required for column in found) - required

    best = max(forms, key=fit)
    return best if fit(best)[0] > 1 else None


def _unknown_sheet(name: str, known: Sequence[str]) -> Problem:
    near = _nearest(name, known)
    remedy = f"{near}Known sheets: {', '.join(known)}. Remove or rename this one."
    if not name:
        remedy = f"Write the titles of one sheet in its first row: {', '.join(known)}."
    return _of_sheet(name, "This sheet is not known.", remedy)


def _of_sheet(name: str, what: str, remedy: str) -> Problem:
    return Problem(sheet=name, row=0, column="", cell="", value="", what=what, remedy=remedy)


def _nearest(written: str, known: Iterable[str]) -> str:
    near = difflib.get_close_matches(written, list(known), n=1, cutoff=0.6)
    return f"Did you mean “{near[0]}”? " if near else ""


def _same(title: str) -> str:
    return " ".join(title.replace("*", " ").split()).casefold()
