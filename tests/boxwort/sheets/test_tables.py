"""A table that begins below other lines of a sheet, with columns and rows that are not read."""

from __future__ import annotations

from io import BytesIO

from openpyxl import Workbook

from boxwort.sheets import cells
from boxwort.sheets.forms import Column, SheetForm, column, optional
from boxwort.sheets.reading import tables_read

FORM = SheetForm(
    name="",
    foot="Total",
    columns=(
        column("code", "Code", cells.code),
        optional("packs", "Packs", cells.whole()),
        Column(
            name="sum",
            readers={"Sum": cells.decimal(least=0)},
            required=False,
            worked_out=True,
        ),
    ),
    ignored=("Remark",),
)


def book(*rows, name="Dale"):
    workbook = Workbook()
    sheet = workbook.active
    sheet.title = name
    for row in rows:
        sheet.append(row)
    workbook.create_sheet("Notes").append(["nothing of the kind"])
    written = BytesIO()
    workbook.save(written)
    return written.getvalue()


HEAD = ["Code", "Packs", "Sum", "Remark"]


def test_the_table_is_found_below_its_titles_and_other_sheets_are_passed_over():
    reading = tables_read(book(["A list"], [], HEAD, ["MALT", 3, "=B4*2", "=A1"]), FORM)
    assert reading.problems == []
    assert list(reading.rows) == ["Dale"]
    (row,) = reading.sound("Dale")
    assert (row.number, row["code"], row["packs"], row["sum"]) == (4, "MALT", 3, None)


def test_a_number_typed_over_a_formula_is_read():
    (row,) = tables_read(book(HEAD, ["MALT", 3, 7.5, ""]), FORM).sound("Dale")
    assert row["sum"] == 7.5


def test_a_row_of_totals_is_no_row_but_an_item_of_that_name_is():
    rows = [HEAD, ["MALT", 3], ["Total", None, "=SUM(C2:C2)"], ["TOTAL", 2]]
    found = tables_read(book(*rows), FORM).sound("Dale")
    assert [row["code"] for row in found] == ["MALT", "TOTAL"]


def test_a_wrong_cell_and_an_unknown_title_are_told_where_they_stand():
    content = book(["A list"], [*HEAD, "Colour"], ["MALT", "=1+1"])
    problems = tables_read(content, FORM).problems
    assert [(problem.cell, problem.sheet) for problem in problems] == [
        ("E2", "Dale"),
        ("B3", "Dale"),
    ]
