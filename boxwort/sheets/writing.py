"""Workbooks that are safe to open: text is text, numbers are numbers, and nothing executes.

A cell that holds text is stored as text whatever it begins with (= + - @), and marked so that a
spreadsheet program keeps it as text when a person edits it. Formulas are written only by
:func:`put_formula`, from strings of the house's own making. The same workbook gives the same bytes.
"""

from __future__ import annotations

import re
import zipfile
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from decimal import Decimal
from io import BytesIO
from textwrap import wrap

from openpyxl import Workbook
from openpyxl.cell.cell import Cell
from openpyxl.styles import Alignment, Border, Font, PatternFill, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.header_footer import HeaderFooterItem
from openpyxl.worksheet.properties import PageSetupProperties
from openpyxl.worksheet.worksheet import Worksheet
from openpyxl.xml.functions import tostring

LONGEST_TEXT = 32_767
LONGEST_NAME = 31
TEXT_FORMAT = "@"
DATE_FORMAT = "yyyy-mm-dd"
WHOLE_FORMAT = "#,##0"

_UNWRITABLE = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\ud800-\udfff\ufffe\uffff]")
_NOT_IN_NAMES = re.compile(r"[\[\]:*?/\\]")
_EXECUTES = ("=", "+", "-", "@", "\t", "\r")
_FIRST_ZIP_YEAR = 1980

FACE = "Calibri"
_INK = "FF22303A"
_LINE = 15.5
_TWO_LINES = 2 * _LINE
_NARROWER = 3  # characters of a column that the indent and wide letters take
_BAND = PatternFill("solid", fgColor="FFE9EDE4")
_RULE = Side(style="thin", color="FF7C8A80")


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a table: its heading (with the unit), width in characters, and number format."""

    title: str
    width: float
    number_format: str = TEXT_FORMAT


def safe_text(value: str) -> str:
    """Return text without the characters a workbook cannot hold, no longer than a cell.

    >>> safe_text("a" + chr(7) + "b")
    'ab'
    """
    lines = value.replace("\r\n", "\n").replace("\r", "\n")
    return _UNWRITABLE.sub("", lines)[:LONGEST_TEXT]


def sheet_name(wanted: str, taken: Collection[str]) -> str:
    """Return a legal name for a sheet that none of ``taken`` has, whatever the capitals.

    >>> sheet_name("Malt/Hops: [north]", ["malt-hops- -north-"])
    'Malt-Hops- -north- 2'
    """
    legal = _NOT_IN_NAMES.sub("-", safe_text(wanted)).replace("\n", " ").strip(" '")
    name = legal[:LONGEST_NAME].strip(" '") or "Sheet"
    if name.casefold() == "history":  # reserved by spreadsheet programs
        name = "History list"
    used = {other.casefold() for other in taken}
    unique, number = name, 1
    while unique.casefold() in used:
        number += 1
        mark = f" {number}"
        unique = name[: LONGEST_NAME - len(mark)].rstrip(" '") + mark
    return unique


def quoted(name: str) -> str:
    """Return a sheet's name as a formula refers to it.

    >>> quoted("Miller's")
    "'Miller''s'"
    """
    return "'" + name.replace("'", "''") + "'"


def new_workbook(title: str) -> Workbook:
    """Return a workbook without sheets whose properties name the program and nobody."""
    workbook = Workbook()
    for sheet in list(workbook.worksheets):
        workbook.remove(sheet)
    workbook.properties.title = safe_text(title)
    workbook.properties.creator = "Boxwort"
    workbook.properties.lastModifiedBy = "Boxwort"
    return workbook


def put_text(cell: Cell, value: str, *, wrapped: bool = False) -> None:
    """Write text that stays text, ``wrapped`` on more lines than one if need be."""
    text = safe_text(value)
    cell.value = text or None
    if text:
        cell.data_type = "s"
    cell.number_format = TEXT_FORMAT
    cell.quotePrefix = text.startswith(_EXECUTES)
    cell.alignment = Alignment(horizontal="left", vertical="top", wrap_text=wrapped, indent=1)


def put_number(
    cell: Cell, value: int | float | Decimal | None, number_format: str = WHOLE_FORMAT
) -> None:
    """Write a real number, or leave the cell empty where it is not known."""
    cell.value = value
    cell.number_format = number_format
    cell.alignment = Alignment(vertical="top")


def put_date(cell: Cell, value: date | None) -> None:
    """Write a real date, or leave the cell empty where there is none."""
    cell.value = value
    cell.number_format = DATE_FORMAT
    cell.alignment = Alignment(horizontal="left", vertical="top", indent=1)


def put_formula(cell: Cell, formula: str, number_format: str) -> None:
    """Write a formula of the house's own making; never pass text that came from outside.

    Raises
    ------
    ValueError: it does not begin with an equals sign.
    """
    if not formula.startswith("="):
        msg = f"{formula!r} is no formula: it must begin with an equals sign"
        raise ValueError(msg)
    cell.value = formula
    cell.number_format = number_format
    cell.alignment = Alignment(vertical="top")


def put_heading(sheet: Worksheet, row: int, columns: Sequence[Column]) -> None:
    """Write the heading row of a table, two lines high, and set the widths of its columns."""
    sheet.row_dimensions[row].height = _TWO_LINES
    for index, column in enumerate(columns, start=1):
        cell = cell_at(sheet, row, index)
        put_text(cell, column.title)
        cell.font = Font(name=FACE, bold=True, color=_INK)
        cell.fill = _BAND
        cell.border = Border(bottom=_RULE)
        figure = column.number_format not in (TEXT_FORMAT, DATE_FORMAT)
        cell.alignment = Alignment(
            wrap_text=True,
            vertical="bottom",
            horizontal="right" if figure else "left",
            indent=0 if figure else 1,
        )
        sheet.column_dimensions[get_column_letter(index)].width = column.width


def fit_row(sheet: Worksheet, row: int, columns: Sequence[Column]) -> None:
    """Make a row high enough for its wrapped text, which not every program does by itself."""
    lines = 1
    for index, column in enumerate(columns, start=1):
        cell = cell_at(sheet, row, index)
        if cell.alignment.wrap_text and isinstance(cell.value, str):
            room = max(int(column.width) - _NARROWER, 1)
            lines = max(lines, len(wrap(cell.value, room)))
    sheet.row_dimensions[row].height = lines * _LINE


def finish_table(sheet: Worksheet, *, heading_row: int, last_row: int, columns: int) -> None:
    """Freeze the heading, add filters, and set the sheet up to print on pages with numbers."""
    last_column = get_column_letter(columns)
    sheet.freeze_panes = f"A{heading_row + 1}"
    if last_row > heading_row:
        sheet.auto_filter.ref = f"A{heading_row}:{last_column}{last_row}"
    sheet.print_title_rows = f"{heading_row}:{heading_row}"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToWidth = 1
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr = PageSetupProperties(fitToPage=True)
    sheet.page_margins.left = sheet.page_margins.right = 0.4
    sheet.page_margins.top = sheet.page_margins.bottom = 0.75
    footer = HeaderFooterItem()
    footer.left.text = "&A"
    footer.right.text = "Page &P of &N"
    sheet.HeaderFooter.oddFooter = footer
    sheet.sheet_view.showGridLines = False


def put_title(sheet: Worksheet, row: int, text: str, *, size: int = 14, bold: bool = True) -> None:
    """Write a line above a table."""
    cell = cell_at(sheet, row, 1)
    put_text(cell, text)
    cell.font = Font(name=FACE, bold=bold, size=size, color=_INK)


def cell_at(sheet: Worksheet, row: int, column: int) -> Cell:
    """Return the cell at a row and column, both counted from 1.

    Raises
    ------
    TypeError: the cell is covered by a merged one and holds nothing.
    """
    cell = sheet.cell(row=row, column=column)
    if not isinstance(cell, Cell):
        msg = f"row {row}, column {column} of {sheet.title} lies under a merged cell"
        raise TypeError(msg)
    return cell


def workbook_bytes(workbook: Workbook, made_at: datetime) -> bytes:
    """Return the workbook as a file dated ``made_at``: same workbook and moment, same bytes."""
    moment = made_at.astimezone(UTC).replace(tzinfo=None, microsecond=0)
    workbook.properties.created = moment
    written = BytesIO()
    workbook.save(written)
    workbook.properties.modified = moment
    core = tostring(workbook.properties.to_tree())
    stamp = (max(moment.year, _FIRST_ZIP_YEAR), *moment.timetuple()[1:6])
    result = BytesIO()
    with zipfile.ZipFile(written) as source, zipfile.ZipFile(result, "w") as target:
        for entry in source.infolist():
            content = core if entry.filename == "docProps/core.xml" else source.read(entry)
            again = zipfile.ZipInfo(entry.filename, date_time=stamp)
            again.compress_type = zipfile.ZIP_DEFLATED
            target.writestr(again, content)
    return result.getvalue()
