"""Safe writing of workbooks."""

from __future__ import annotations

import zipfile
from datetime import UTC, date, datetime
from io import BytesIO

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import load_workbook

from boxwort.sheets.writing import (
    LONGEST_NAME,
    cell_at,
    new_workbook,
    put_date,
    put_formula,
    put_number,
    put_text,
    safe_text,
    sheet_name,
    workbook_bytes,
)

MADE_AT = datetime(2026, 11, 25, 9, 30, tzinfo=UTC)


def _written(text: str) -> bytes:
    workbook = new_workbook("Test")
    put_text(cell_at(workbook.create_sheet("One"), 1, 1), text)
    return workbook_bytes(workbook, MADE_AT)


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@SUM(A1)", "=HYPERLINK(1)", "\t=1"])
def test_text_that_looks_like_a_formula_stays_text(text):
    data = _written(text)
    cell = load_workbook(BytesIO(data))["One"]["A1"]
    assert (cell.value, cell.data_type, cell.quotePrefix) == (text, "s", True)
    with zipfile.ZipFile(BytesIO(data)) as archive:
        assert b"<f>" not in archive.read("xl/worksheets/sheet1.xml")


def test_a_code_of_many_digits_keeps_every_digit():
    cell = load_workbook(BytesIO(_written("00012345678901234567")))["One"]["A1"]
    assert (cell.value, cell.number_format) == ("00012345678901234567", "@")


@given(st.text(max_size=60))
def test_any_text_is_written_and_read_back(text):
    value = load_workbook(BytesIO(_written(text)))["One"]["A1"].value
    assert (value or "") == safe_text(text)


def test_control_characters_are_dropped_and_line_ends_are_one():
    assert safe_text("a\x00b\x07\r\nc\rd\u0085") == "ab\nc\nd"


def test_numbers_dates_and_formulas_are_real():
    workbook = new_workbook("Test")
    sheet = workbook.create_sheet("One")
    put_number(cell_at(sheet, 1, 1), 2.5, "0.00")
    put_date(cell_at(sheet, 1, 2), date(2026, 12, 1))
    put_formula(cell_at(sheet, 1, 3), "=A1*2", "0.00")
    put_number(cell_at(sheet, 1, 4), None)
    first, second, third, fourth = load_workbook(BytesIO(workbook_bytes(workbook, MADE_AT)))["One"][
        1
    ]
    assert first.value == 2.5
    assert second.value == datetime(2026, 12, 1)  # noqa: DTZ001 - a workbook has no time zones
    assert (third.value, third.data_type) == ("=A1*2", "f")
    assert fourth.value is None


def test_what_is_no_formula_is_not_written_as_one():
    workbook = new_workbook("Test")
    with pytest.raises(ValueError, match="no formula"):
        put_formula(cell_at(workbook.create_sheet("One"), 1, 1), "A1*2", "0")


@given(st.text(max_size=50), st.lists(st.text(min_size=1, max_size=31), max_size=4))
def test_a_sheet_name_is_legal_and_unique(wanted, taken):
    taken = [*taken, sheet_name(wanted, taken)]
    name = sheet_name(wanted, taken)
    assert 1 <= len(name) <= LONGEST_NAME
    assert not set(name) & set("[]:*?/\\\n")
    assert "'" not in {name[0], name[-1]}
    assert name.casefold() not in {other.casefold() for other in taken}


def test_the_same_workbook_gives_the_same_bytes_and_names_nobody():
    data = _written("malt")
    assert data == _written("malt")
    properties = load_workbook(BytesIO(data)).properties
    assert properties.creator == properties.lastModifiedBy == "Boxwort"
    assert properties.modified == properties.created == MADE_AT.replace(tzinfo=None)
