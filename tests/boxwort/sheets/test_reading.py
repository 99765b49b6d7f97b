"""A workbook is read by its form: typed rows, and every problem with its cell."""

from __future__ import annotations

import io
import zipfile
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.sheets import cells, opening
from boxwort.sheets.cells import Cell, Unreadable
from boxwort.sheets.forms import AmountColumns, Column, Problem, SheetForm, column, optional
from boxwort.sheets.reading import Reading, workbook_read

STOCK = SheetForm(
    name="Stock",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        AmountColumns(name="amount"),
        optional("note", "Note", cells.text(20), ""),
        optional("alpha", "Alpha (%)", cells.percent),
        optional("received_on", "Received", cells.day),
        Column(
            name="volume",
            readers={
                "Volume (L)": cells.stock_of("L"),
                "Volume (US gal)": cells.stock_of("US gal"),
            },
            required=False,
        ),
    ),
)
HEADER = ("Code", "Amount", "Unit", "Note", "Alpha (%)", "Received", "Volume (L)")


def workbook(
    *rows: Sequence[Any], header: Sequence[Any] = HEADER, sheet: str = "Stock"
) -> Workbook:
    book = Workbook()
    first = book.worksheets[0]
    first.title = sheet
    for row in (header, *rows):
        first.append(list(row))
    return book


def content(book: Workbook) -> bytes:
    file = io.BytesIO()
    book.save(file)
    return file.getvalue()


def read(*rows: Sequence[Any], **how: Any) -> Reading:
    return workbook_read(content(workbook(*rows, **how)), [STOCK])


def only_problem(reading: Reading) -> Problem:
    assert len(reading.problems) == 1, reading.problems
    return reading.problems[0]


def test_a_row_is_read_into_the_types_of_its_columns() -> None:
    reading = read(("pale-1", 12.5, "kg", "fresh", 5.5, date(2026, 11, 2), 20))
    assert reading.problems == []
    (row,) = reading.sound("Stock")
    assert row["code"] == "PALE-1"
    assert (row["amount"].quantity, row["amount"].measure) == (12_500_000, Measure.MASS)
    assert row["note"] == "fresh"
    assert row["alpha"] == 0.055
    assert row["received_on"] == date(2026, 11, 2)
    assert row["volume"] == 20_000_000


def test_empty_cells_take_what_the_form_says_and_blank_rows_are_skipped() -> None:
    reading = read(("A", 1, "g"), (None, None), ("B", 2, "g"))
    assert reading.problems == []
    assert [(row.number, row["note"], row["alpha"]) for row in reading.rows["Stock"]] == [
        (2, "", None),
        (4, "", None),
    ]


def test_columns_may_stand_in_any_order_and_in_another_unit() -> None:
    reading = read((1, "A", "oz", 5), header=("amount", "CODE *", "Unit", "Volume (US gal)"))
    (row,) = reading.sound("Stock")
    assert row["amount"].quantity == 28_350
    assert row["volume"] == 18_927_059


def test_a_bad_cell_is_named_with_its_address_value_and_remedy() -> None:
    problem = only_problem(read(("A", 1, "g"), ("B", "lots", "kg")))
    assert (problem.sheet, problem.row, problem.column, problem.cell) == (
        "Stock",
        3,
        "Amount",
        "B3",
    )
    assert problem.value == "lots"
    assert "number" in problem.what
    assert problem.remedy


def test_all_problems_are_named_at_once() -> None:
    reading = read(("not a code", -1, "stone", "x" * 21, 120, "2 Nov", 0))
    assert [problem.cell for problem in reading.problems] == [
        "A2",
        "B2",
        "C2",
        "D2",
        "E2",
        "F2",
        "G2",
    ]
    assert reading.sound("Stock") == []


def test_a_formula_is_refused_and_text_that_looks_like_one_is_kept_as_text() -> None:
    book = workbook(("A", 1, "g", None), ("B", 1, "g", None))
    book.worksheets[0]["D2"] = "=1+1"
    written = book.worksheets[0]["D3"]
    written.value = "=cmd|' /C calc'!A0"
    written.data_type = "s"
    reading = workbook_read(content(book), [STOCK])
    problem = only_problem(reading)
    assert (problem.cell, problem.what) == ("D2", "The cell holds a formula.")
    assert [row["note"] for row in reading.sound("Stock")] == ["=cmd|' /C calc'!A0"]


def test_a_spreadsheets_error_is_not_taken_for_a_value() -> None:
    book = workbook(("A", 1, "g", "#N/A"))
    assert book.worksheets[0]["D2"].data_type == "e"
    assert only_problem(workbook_read(content(book), [STOCK])).cell == "D2"


def test_a_percentage_formatted_by_the_sheet_is_the_same_share() -> None:
    book = workbook(("A", 1, "g", None, 0.055))
    book.worksheets[0]["E2"].number_format = "0.0%"
    (row,) = workbook_read(content(book), [STOCK]).sound("Stock")
    assert row["alpha"] == 0.055


def test_an_unknown_sheet_or_column_is_a_problem_that_offers_the_nearest_name() -> None:
    book = workbook(("A", 1, "g", "x"), header=("Code", "Amount", "Unit", "Notes"))
    book.create_sheet("Stok").append(["Code"])
    of_column, of_sheet = workbook_read(content(book), [STOCK]).problems
    assert of_column.cell == "D1"
    assert "“Note”" in of_column.remedy
    assert (of_sheet.sheet, of_sheet.row) == ("Stok", 0)
    assert "“Stock”" in of_sheet.remedy


def test_a_column_that_is_owed_or_given_twice_is_named() -> None:
    reading = read(("A", 1, 1), header=("Code", "Volume (L)", "Volume (US gal)"))
    whats = [problem.what for problem in reading.problems]
    assert "“Volume (L)” already says this." in whats
    assert "The column “Amount” is missing." in whats
    assert "The column “Unit” is missing." in whats


def test_half_an_amount_is_no_amount() -> None:
    form = SheetForm(name="Stock", columns=(AmountColumns(name="amount", required=False),))
    book = workbook((5, None), (None, "kg"), (0.0001, "mg"), header=("Amount", "Unit"))
    reading = workbook_read(content(book), [form])
    assert [problem.cell for problem in reading.problems] == ["B2", "A3", "A4"]


def test_a_second_row_of_the_same_name_points_at_the_first() -> None:
    problem = only_problem(read(("A", 1, "g"), ("A", 2, "g")))
    assert (problem.row, problem.what) == (3, "Row 2 already says this.")


def test_dates_move_by_whole_days() -> None:
    reading = read(("A", 1, "g", None, None, date(2026, 11, 23)))
    reading.shift(14)
    assert reading.rows["Stock"][0]["received_on"] == date(2026, 12, 7)


def test_progress_counts_the_rows_checked() -> None:
    said: list[tuple[int, int, str]] = []
    book = workbook(*((f"A{number}", 1, "g") for number in range(250)))
    workbook_read(content(book), [STOCK], lambda *words: said.append(words))
    assert said == [(done, 250, "checking Stock") for done in (0, 100, 200)]


@pytest.mark.parametrize("sent", [b"", b"Code;Amount\nA;1", b"PK\x03\x04 not really"])
def test_something_else_than_a_workbook_is_refused(sent: bytes) -> None:
    with pytest.raises(Refusal) as caught:
        workbook_read(sent, [STOCK])
    assert caught.value.code == "not-a-workbook"


def test_a_zip_without_a_workbook_in_it_is_refused() -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("letter.txt", "hello")
    with pytest.raises(Refusal) as caught:
        workbook_read(file.getvalue(), [STOCK])
    assert caught.value.code == "not-a-workbook"


def _zip_flagged(sent: bytes, *, at: int, bits: bytes) -> bytes:
    """Return a zip with two bytes of every member's headers changed, as other programs write."""
    changed = bytearray(sent)
    for mark, offset in ((b"PK\x03\x04", at), (b"PK\x01\x02", at + 2)):
        place = changed.find(mark)
        while place >= 0:
            changed[place + offset : place + offset + 2] = bits
            place = changed.find(mark, place + 1)
    return bytes(changed)


def _damaged(sent: bytes) -> bytes:
    """Return a zip whose members no longer unpack."""
    changed = bytearray(sent)
    with zipfile.ZipFile(io.BytesIO(sent)) as archive:
        for member in archive.infolist():
            start = member.header_offset + 30 + len(member.filename)
            changed[start : start + 20] = bytes(byte ^ 0xFF for byte in changed[start : start + 20])
    return bytes(changed)


@pytest.mark.parametrize(
    "spoilt",
    [
        pytest.param(lambda sent: _zip_flagged(sent, at=6, bits=b"\x01\x00"), id="encrypted"),
        pytest.param(lambda sent: _zip_flagged(sent, at=8, bits=b"\x61\x00"), id="packed-oddly"),
        pytest.param(lambda sent: _zip_flagged(sent, at=4, bits=b"\x70\x00"), id="of-the-future"),
        pytest.param(_damaged, id="damaged"),
    ],
)
def test_a_workbook_that_cannot_be_unpacked_is_refused(spoilt: Callable[[bytes], bytes]) -> None:
    with pytest.raises(Refusal) as caught:
        workbook_read(spoilt(content(workbook(("A1", 1, "g")))), [STOCK])
    assert caught.value.code == "not-a-workbook"


def test_a_zip_bomb_is_refused_before_it_is_unpacked() -> None:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("xl/worksheets/sheet1.xml", bytes(opening.MOST_UNPACKED_BYTES + 1))
    assert len(file.getvalue()) < 100_000
    with pytest.raises(Refusal) as caught:
        workbook_read(file.getvalue(), [STOCK])
    assert caught.value.code == "workbook-too-big"


def test_a_file_or_a_sheet_that_is_too_long_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(opening, "MOST_ROWS", 3)
    monkeypatch.setattr("boxwort.sheets.reading.MOST_ROWS", 3)
    reading = read(*((f"A{number}", 1, "g") for number in range(4)))
    assert only_problem(reading).what == "The sheet has more than 3 rows."
    monkeypatch.setattr(opening, "MOST_BYTES", 100)
    with pytest.raises(Refusal) as caught:
        read(("A", 1, "g"))
    assert caught.value.code == "workbook-too-big"


@pytest.mark.parametrize(
    ("reader", "value", "expected"),
    [
        (cells.whole(), 12.0, 12),
        (cells.whole(), "12", 12),
        (cells.decimal(), 0.1, Decimal("0.1")),
        (cells.money, 7.6, 76_000),
        (cells.yes_no, "Yes", True),
        (cells.yes_no, False, False),
        (cells.day, "2026-11-23", date(2026, 11, 23)),
        (cells.code, 4711, "4711"),
        (cells.text(), "a\x07b", "ab"),
        (cells.words(("oats", "wheat")), "Wheat, oats,", ("oats", "wheat")),
        (cells.fahrenheit, 152.6, 67.0),
        (cells.measured(factor=0.01), 97, 0.97),
    ],
)
def test_each_kind_of_cell_reads_what_people_type(
    reader: cells.Reader, value: Any, expected: Any
) -> None:
    assert reader(Cell(value=value)) == expected


@pytest.mark.parametrize(
    ("reader", "value"),
    [
        (cells.whole(), 1.5),
        (cells.whole(most=9), 10),
        (cells.whole(), True),
        (cells.decimal(least=0), -1),
        (cells.positive, 0),
        (cells.positive, "1e400"),
        (cells.money, "12 USD"),
        (cells.yes_no, "perhaps"),
        (cells.day, 46000),
        (cells.day, "23/11/2026"),
        (cells.code, "a" * 21),
        (cells.text(), date(2026, 11, 23)),
        (cells.unit, "stone"),
        (cells.words(("oats",)), "oats, hay"),
        (cells.percent, 101),
    ],
)
def test_what_cannot_be_meant_is_refused_with_a_remedy(reader: cells.Reader, value: Any) -> None:
    with pytest.raises(Unreadable) as caught:
        reader(Cell(value=value))
    assert caught.value.what
    assert caught.value.remedy


@given(st.one_of(st.text(), st.floats(), st.integers(), st.booleans(), st.dates()))
def test_no_cell_makes_a_reader_fail_in_any_other_way(value: Any) -> None:
    readers = [*(each for one in STOCK.single_columns() for each in one.readers.values())]
    for reader in (*readers, cells.money, cells.yes_no, cells.as_shown, cells.fahrenheit):
        with suppress(Unreadable):
            reader(Cell(value=value))
