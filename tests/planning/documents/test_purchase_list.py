"""The purchase list as a workbook that a buyer can send."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import UTC, date, datetime, timedelta
from io import BytesIO

import pytest
from openpyxl import load_workbook

from boxwort.quantities import Measure
from planning.documents.purchase_list import purchase_list_xlsx
from planning.queries.purchasing import PurchasePlan, PurchaseRow, SupplierPlan, UnofferedRow

ON = date(2026, 11, 25)
MADE_AT = datetime(2026, 11, 25, 9, 0, tzinfo=UTC)
HEADING = 4


def line(code="MALT-PALE", packs=3, **facts):
    known = {
        "item_id": 1,
        "item_code": code,
        "item_name": "Pale malt",
        "measure": Measure.MASS,
        "supplier_item_code": "PM25",
        "needed": 82_500_000,
        "on_hand": 12_500_000,
        "on_order": 0,
        "net": 70_000_000,
        "pack_quantity": 25_000_000,
        "packs": packs,
        "quantity": 25_000_000 * packs,
        "pack_price": 312_550,
        "cost": 312_550 * packs,
        "need_by": ON + timedelta(days=14),
        "order_by": ON + timedelta(days=7),
        "arrives_on": ON + timedelta(days=7),
        "past_due": False,
        "runs": ("R261209-1", "R261216-1"),
        "reasons": ("2.80 packs are needed, rounded up to 3.",),
        "advice": (),
    }
    return PurchaseRow(**(known | facts))


def plan(*suppliers, unoffered=()):
    return PurchasePlan(
        on=ON,
        producer="Fernhollow Kit Works",
        currency="EUR",
        items=(),
        suppliers=suppliers,
        unoffered=tuple(unoffered),
        runs=(),
    )


def supplier(name="Dale Maltings", *lines):
    return SupplierPlan(
        supplier_id=1, supplier_code="DALE", supplier_name=name, lines=lines or (line(),)
    )


def book(*suppliers, **facts):
    return load_workbook(BytesIO(purchase_list_xlsx(plan(*suppliers, **facts), made_at=MADE_AT)))


def reckoned(workbook, sheet, cell):
    """Work out the few kinds of formula the list is made of, from real cells only."""
    value = workbook[sheet][cell].value
    if not (isinstance(value, str) and value.startswith("=")):
        return value or 0
    if found := re.fullmatch(r"=([A-Z]+\d+)\*([A-Z]+\d+)", value):
        first, second = (reckoned(workbook, sheet, name) for name in found.groups())
        return first * second
    if found := re.fullmatch(r"=SUM\(([A-Z]+)(\d+):\1(\d+)\)", value):
        column, first, last = found.groups()
        cells = (f"{column}{row}" for row in range(int(first), int(last) + 1))
        return sum(reckoned(workbook, sheet, name) for name in cells)
    if found := re.fullmatch(r"='((?:[^']|'')+)'!([A-Z]+\d+)", value):
        return reckoned(workbook, found[1].replace("''", "'"), found[2])
    if found := re.fullmatch(r"=ROWS\('((?:[^']|'')+)'!A(\d+):A(\d+)\)", value):
        name = found[1].replace("''", "'")
        rows = range(int(found[2]), int(found[3]) + 1)
        assert all(workbook[name][f"A{row}"].value for row in rows)
        return len(rows)
    pytest.fail(f"{sheet}!{cell} holds {value}")


def test_every_formula_comes_to_what_the_plan_says():
    dale = supplier("Dale's Maltings / North", line(), line("MALT-WHEAT", 2))
    hops = SupplierPlan(
        supplier_id=2,
        supplier_code="HOPS",
        supplier_name="Hop House",
        lines=(line("HOP-LARK", 1, pack_quantity=500_000, pack_price=182_005, cost=182_005),),
    )
    workbook = book(dale, hops)
    for sheet in workbook:
        for row in sheet.iter_rows():
            for cell in row:
                if cell.data_type == "f":
                    reckoned(workbook, sheet.title, cell.coordinate)
    assert reckoned(workbook, "Summary", "D5") == pytest.approx(dale.total / 10_000)
    assert reckoned(workbook, "Summary", "D6") == pytest.approx(hops.total / 10_000)
    assert reckoned(workbook, "Summary", "D7") == pytest.approx((dale.total + hops.total) / 10_000)
    assert [reckoned(workbook, "Summary", cell) for cell in ("C5", "C6")] == [2, 1]
    assert reckoned(workbook, "Hop House", "K5") == 500


def test_a_line_holds_real_numbers_in_the_unit_beside_them_and_real_dates():
    sheet = book(supplier())["Dale Maltings"]
    headings = [cell.value for cell in sheet[HEADING]]
    row = dict(zip(headings, sheet[HEADING + 1], strict=True))
    assert [row[name].value for name in ("Our code", "Their code", "Unit")] == [
        "MALT-PALE",
        "PM25",
        "kg",
    ]
    assert [row[name].value for name in ("Needed (unit)", "Pack (unit)", "Packs")] == [82.5, 25, 3]
    assert row["Price per pack (EUR)"].value == pytest.approx(31.255)
    assert row["Need by"].value.date() == ON + timedelta(days=14)
    assert row["Our code"].number_format == "@"
    assert row["For runs"].value == "R261209-1, R261216-1"


def test_us_units_are_pounds():
    data = purchase_list_xlsx(plan(supplier()), made_at=MADE_AT, units="us")
    row = load_workbook(BytesIO(data))["Dale Maltings"][HEADING + 1]
    assert row[3].value == "lb"
    assert row[8].value == pytest.approx(55.115566)


def test_no_cell_of_a_name_can_execute():
    evil = '=HYPERLINK("http://example.invalid","x")'
    nasty = line(evil, item_name="@SUM(1)", supplier_item_code="+1", runs=("-1",))
    workbook = book(supplier(evil, nasty), unoffered=[unoffered(item_name=evil)])
    formulas = [
        cell.value
        for sheet in workbook
        for row in sheet.iter_rows()
        for cell in row
        if cell.data_type == "f"
    ]
    assert not [formula for formula in formulas if "HYPERLINK(" in formula and "!" not in formula]
    assert workbook.worksheets[1]["A5"].value == evil
    assert workbook.worksheets[1]["A5"].data_type == "s"


def unoffered(**facts):
    row = UnofferedRow(
        item_id=9,
        item_code="LABEL-NEW",
        item_name="New label",
        measure=Measure.COUNT,
        net=40,
        need_by=ON,
        runs=("R261209-1",),
        remedy="No supplier offers New label (LABEL-NEW): add an offer.",
    )
    return replace(row, **facts)


def test_what_nobody_offers_has_a_sheet_of_its_own():
    workbook = book(supplier(), unoffered=[unoffered()])
    assert workbook.sheetnames == ["Summary", "Dale Maltings", "No supplier"]
    assert workbook["No supplier"]["F5"].value.startswith("No supplier offers New label")
    assert "No supplier offers 1 of the items" in workbook["Summary"]["A2"].value


def test_nothing_to_buy_is_said_in_so_many_words():
    workbook = book()
    assert workbook.sheetnames == ["Summary"]
    assert "Nothing to buy" in workbook["Summary"]["A2"].value


def test_two_suppliers_of_one_name_have_a_sheet_each():
    workbook = book(supplier(), supplier(), supplier("Summary"))
    assert workbook.sheetnames == ["Summary", "Dale Maltings", "Dale Maltings 2", "Summary 2"]


def test_a_line_without_a_price_leaves_the_price_open():
    workbook = book(supplier("Dale Maltings", line(pack_price=None, cost=0)))
    assert workbook["Dale Maltings"]["L5"].value is None
    assert reckoned(workbook, "Summary", "D5") == 0


def test_the_sheets_are_set_up_to_print():
    sheet = book(supplier())["Dale Maltings"]
    assert sheet.freeze_panes == "A5"
    assert sheet.auto_filter.ref == "A4:X5"
    assert sheet.print_title_rows == "$4:$4"
    assert (sheet.page_setup.orientation, sheet.page_setup.fitToHeight) == ("landscape", 0)
    assert "Page &P of &N" in sheet.oddFooter.right.text


def test_the_same_plan_gives_the_same_bytes():
    made = [purchase_list_xlsx(plan(supplier()), made_at=MADE_AT) for _ in range(2)]
    assert made[0] == made[1]
