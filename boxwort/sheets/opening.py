"""Opening a workbook that somebody else made: what it may weigh, and its cells one by one.

An xlsx file is a zip of XML, and a small one can unpack to more than a machine holds. What is in it
is added up before anything is unpacked; zip members never unpack beyond what they declare. One
table may also come as text with commas between its cells; its titles then say what it is.
"""

from __future__ import annotations

import csv
import io
import zipfile
import zlib
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import islice
from typing import Any
from xml.etree.ElementTree import ParseError

from openpyxl import load_workbook
from openpyxl.cell.read_only import EmptyCell

from boxwort.errors import Refusal
from boxwort.sheets.cells import Cell

MOST_BYTES = 8_000_000
MOST_UNPACKED_BYTES = 50_000_000
MOST_MEMBERS = 500
MOST_SHEETS = 60
MOST_ROWS = 20_000
MOST_COLUMNS = 60
_EMPTY = Cell(value=None)
_ZIP = b"PK"


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet with its cells by row; the first row is the header. Row n is ``rows[n - 1]``.

    ``name`` is empty for a table that came by itself.
    """

    name: str
    rows: Sequence[Sequence[Cell]]
    too_long: bool = False


def opened(content: bytes) -> list[Sheet]:
    """Return the sheets of an xlsx file, or the one table of a file of commas.

    Raises
    ------
    Refusal: ``workbook-too-big``, or ``not-a-workbook`` when it is something else or damaged.
    """
    refuse_too_big(content)
    if not content.startswith(_ZIP):
        return [_table(content)]
    try:
        workbook = load_workbook(io.BytesIO(content), read_only=True, data_only=False)
        try:
            return [_sheet(sheet) for sheet in workbook.worksheets[:MOST_SHEETS]]
        finally:
            workbook.close()
    except (
        zipfile.BadZipFile, zlib.error, RuntimeError, EOFError, OverflowError, OSError, ParseError,
        KeyError, ValueError, TypeError, AttributeError, IndexError,
    ) as problem:  # fmt: skip
        raise _not_a_workbook() from problem


def refuse_too_big(content: bytes) -> None:
    """Refuse what is no table and no zip of the size a workbook may have; nothing is unpacked."""
    if len(content) > MOST_BYTES:
        _too_big(f"it has more than {MOST_BYTES:,} bytes")
    if not content.startswith(_ZIP):
        _table(content)
        return
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            members = archive.infolist()
    except (zipfile.BadZipFile, NotImplementedError) as problem:  # no zip, or of a kind unknown
        raise _not_a_workbook() from problem
    unpacked = sum(member.file_size for member in members)
    if len(members) > MOST_MEMBERS or unpacked > MOST_UNPACKED_BYTES:
        _too_big(f"it unpacks to {unpacked:,} bytes in {len(members)} parts")


def _not_a_workbook() -> Refusal:
    return Refusal(
        "not-a-workbook",
        "The file is not an xlsx workbook, and no table with commas.",
        "Save it as an Excel workbook (.xlsx), or one sheet of it as CSV in UTF-8, and send it "
        "again.",
    )


def _too_big(how: str) -> None:
    raise Refusal(
        "workbook-too-big",
        f"The workbook is too big: {how}.",
        "Remove sheets, pictures and old rows, or split it, and send it again.",
    )


def _table(content: bytes) -> Sheet:
    """Return text with commas as a sheet without a name; a line has at least two cells."""
    try:
        lines = io.StringIO(content.decode("utf-8-sig"), newline="")
        rows = [
            [Cell(value=value or None) for value in row[:MOST_COLUMNS]]
            for row in islice(csv.reader(lines, strict=True), MOST_ROWS + 2)
        ]
    except (UnicodeDecodeError, csv.Error) as problem:
        raise _not_a_workbook() from problem
    if not rows or len(rows[0]) < 2:
        raise _not_a_workbook()
    return _trimmed("", rows)


def _sheet(sheet: Any) -> Sheet:
    sheet.reset_dimensions()  # what the file claims of its size is not believed
    rows = [
        [_cell(cell) for cell in cells]
        for cells in sheet.iter_rows(max_row=MOST_ROWS + 2, max_col=MOST_COLUMNS)
    ]
    return _trimmed(sheet.title, rows)


def _trimmed(name: str, rows: list[list[Cell]]) -> Sheet:
    while rows and all(cell.empty for cell in rows[-1]):
        rows.pop()
    return Sheet(name=name, rows=rows, too_long=len(rows) > MOST_ROWS + 1)


def _cell(cell: Any) -> Cell:
    if isinstance(cell, EmptyCell):
        return _EMPTY
    return Cell(
        value=cell.value,
        number_format=cell.number_format or "General",
        is_formula=cell.data_type == "f",
        is_error=cell.data_type == "e",
    )
