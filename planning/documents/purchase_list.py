"""The purchase list as a workbook: a summary, and a sheet that each supplier can be sent.

Line totals and sums are live formulas, so that a buyer who changes the packs sees what it comes to.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from decimal import ROUND_HALF_UP, Decimal

from openpyxl.styles import Border, Font, Side
from openpyxl.worksheet.worksheet import Worksheet

from boxwort.figures import on_date
from boxwort.quantities import UNITS, amount_in, natural_unit, read_naturally
from boxwort.sheets.writing import (
    DATE_FORMAT,
    FACE,
    Column,
    cell_at,
    finish_table,
    fit_row,
    new_workbook,
    put_date,
    put_formula,
    put_heading,
    put_number,
    put_text,
    put_title,
    quoted,
    sheet_name,
    workbook_bytes,
)
from planning.queries.purchasing import PurchasePlan, PurchaseRow, SupplierPlan, UnofferedRow

MONEY_FORMAT = "#,##0.00"
PRICE_FORMAT = "#,##0.00##"
SUMMARY = "Summary"
UNOFFERED = "No supplier"
_HEADING_ROW = 4
_TOTAL = "M"  # the column of line totals on a supplier's sheet
_MONEY = Decimal(10_000)
_FINEST = Decimal("0.000001")
_RED = "FF8A1C1C"


def purchase_list_xlsx(plan: PurchasePlan, *, made_at: datetime, units: str = "metric") -> bytes:
    """Return the workbook of a plan; quantities in metric or US customary ("us") units."""
    workbook = new_workbook(f"Purchase list of {plan.producer}")
    summary = workbook.create_sheet(SUMMARY)
    sheets: list[tuple[SupplierPlan, str, int]] = []
    for supplier in plan.suppliers:
        name = sheet_name(supplier.supplier_name, workbook.sheetnames)
        total_row = _supplier_sheet(workbook.create_sheet(name), supplier, plan, units)
        sheets.append((supplier, name, total_row))
    if plan.unoffered:
        name = sheet_name(UNOFFERED, workbook.sheetnames)
        _unoffered_sheet(workbook.create_sheet(name), plan.unoffered, units)
    _summary_sheet(summary, plan, sheets)
    return workbook_bytes(workbook, made_at)


def _summary_sheet(
    sheet: Worksheet, plan: PurchasePlan, sheets: Sequence[tuple[SupplierPlan, str, int]]
) -> None:
    columns = (
        Column(title="Code", width=16),
        Column(title="Supplier", width=36),
        Column(title="Lines", width=9, number_format="0"),
        Column(title=f"Total ({plan.currency})", width=16, number_format=MONEY_FORMAT),
        Column(title="Order by", width=13, number_format=DATE_FORMAT),
        Column(title="Past due lines", width=11, number_format="0"),
    )
    put_title(sheet, 1, f"Purchase list of {plan.producer}")
    put_title(sheet, 2, _what_it_says(plan), size=10, bold=False)
    put_heading(sheet, _HEADING_ROW, columns)
    row = _HEADING_ROW
    for row, (supplier, name, total_row) in enumerate(sheets, start=_HEADING_ROW + 1):
        lines = f"{quoted(name)}!A{_HEADING_ROW + 1}:A{total_row - 1}"
        put_text(cell_at(sheet, row, 1), supplier.supplier_code)
        put_text(cell_at(sheet, row, 2), supplier.supplier_name)
        put_formula(cell_at(sheet, row, 3), f"=ROWS({lines})", "0")
        put_formula(cell_at(sheet, row, 4), f"={quoted(name)}!{_TOTAL}{total_row}", MONEY_FORMAT)
        _put_day(sheet, row, 5, supplier.order_by, late=supplier.order_by < plan.on)
        put_number(cell_at(sheet, row, 6), supplier.past_due, "0")
    finish_table(sheet, heading_row=_HEADING_ROW, last_row=row, columns=len(columns))
    if sheets:
        _put_sum(sheet, row + 1, column="D", first=_HEADING_ROW + 1, last=row)


def _what_it_says(plan: PurchasePlan) -> str:
    written = f"As of {on_date(plan.on)}, for the runs planned, reserved and being packed."
    if not plan.suppliers and not plan.unoffered:
        return f"{written} Nothing to buy: stock and orders cover every run."
    if plan.unoffered:
        return (
            f"{written} No supplier offers {len(plan.unoffered)} of the items: see the last sheet."
        )
    return written


def _columns(currency: str) -> tuple[Column, ...]:
    quantity = "#,##0.###"
    return (
        Column(title="Our code", width=14),
        Column(title="Their code", width=14),
        Column(title="Item", width=25),
        Column(title="Unit", width=6),
        Column(title="Needed (unit)", width=11, number_format=quantity),
        Column(title="On hand (unit)", width=11, number_format=quantity),
        Column(title="On order (unit)", width=11, number_format=quantity),
        Column(title="To cover (unit)", width=11, number_format=quantity),
        Column(title="Pack (unit)", width=11, number_format=quantity),
        Column(title="Packs", width=8, number_format="0"),
        Column(title="Quantity (unit)", width=11, number_format=quantity),
        Column(title=f"Price per pack ({currency})", width=12, number_format=PRICE_FORMAT),
        Column(title=f"Line total ({currency})", width=13, number_format=MONEY_FORMAT),
        Column(title="Need by", width=12, number_format=DATE_FORMAT),
        Column(title="Order by", width=12, number_format=DATE_FORMAT),
        Column(title="For runs", width=36),
        Column(title="Remarks", width=40),
    )


def _supplier_sheet(
    sheet: Worksheet, supplier: SupplierPlan, plan: PurchasePlan, units: str
) -> int:
    """Fill a supplier's sheet and return the row of its total."""
    columns = _columns(plan.currency)
    put_title(sheet, 1, f"{supplier.supplier_name} ({supplier.supplier_code})")
    said = f"Purchase list of {plan.producer}, as of {on_date(plan.on)}. "
    late = f" Past due: {supplier.past_due} of {len(supplier.lines)}." if supplier.past_due else ""
    put_title(sheet, 2, f"{said}Order by {on_date(supplier.order_by)}.{late}", size=10, bold=False)
    put_heading(sheet, _HEADING_ROW, columns)
    first = _HEADING_ROW + 1
    for row, line in enumerate(supplier.lines, start=first):
        _put_line(sheet, row, line, units)
        fit_row(sheet, row, columns)
    last = first + len(supplier.lines) - 1
    finish_table(sheet, heading_row=_HEADING_ROW, last_row=last, columns=len(columns))
    _put_sum(sheet, last + 1, column=_TOTAL, first=first, last=last)
    return last + 1


def _put_line(sheet: Worksheet, row: int, line: PurchaseRow, units: str) -> None:
    unit = natural_unit(line.pack_quantity, line.measure, units)
    number_format = f"#,##0.{'0' * UNITS[unit].decimals}".rstrip(".")
    names = (line.item_code, line.supplier_item_code, line.item_name, unit)
    for column, name in enumerate(names, start=1):
        put_text(cell_at(sheet, row, column), name, wrapped=True)
    quantities = (line.needed, line.on_hand, line.on_order, line.net, line.pack_quantity)
    for column, quantity in enumerate(quantities, start=5):
        put_number(cell_at(sheet, row, column), _in_unit(quantity, unit), number_format)
    put_number(cell_at(sheet, row, 10), line.packs, "0")
    put_formula(cell_at(sheet, row, 11), f"=I{row}*J{row}", number_format)
    price = None if line.pack_price is None else line.pack_price / _MONEY
    put_number(cell_at(sheet, row, 12), price, PRICE_FORMAT)
    put_formula(cell_at(sheet, row, 13), f"=J{row}*L{row}", MONEY_FORMAT)
    put_date(cell_at(sheet, row, 14), line.need_by)
    _put_day(sheet, row, 15, line.order_by, late=line.past_due)
    put_text(cell_at(sheet, row, 16), ", ".join(line.runs) or "Safety stock", wrapped=True)
    put_text(cell_at(sheet, row, 17), " ".join((*line.reasons, *line.advice)), wrapped=True)


def _unoffered_sheet(sheet: Worksheet, rows: Sequence[UnofferedRow], units: str) -> None:
    columns = (
        Column(title="Our code", width=16),
        Column(title="Item", width=34),
        Column(title="To cover", width=16),
        Column(title="Need by", width=13, number_format=DATE_FORMAT),
        Column(title="For runs", width=26),
        Column(title="What to do", width=70),
    )
    put_title(sheet, 1, "Items that no supplier offers")
    put_heading(sheet, _HEADING_ROW, columns)
    for index, row in enumerate(rows, start=_HEADING_ROW + 1):
        put_text(cell_at(sheet, index, 1), row.item_code)
        put_text(cell_at(sheet, index, 2), row.item_name)
        put_text(cell_at(sheet, index, 3), read_naturally(row.net, row.measure, units))
        put_date(cell_at(sheet, index, 4), row.need_by)
        put_text(cell_at(sheet, index, 5), ", ".join(row.runs) or "Safety stock")
        put_text(cell_at(sheet, index, 6), row.remedy, wrapped=True)
    last = _HEADING_ROW + len(rows)
    finish_table(sheet, heading_row=_HEADING_ROW, last_row=last, columns=len(columns))


def _put_day(sheet: Worksheet, row: int, column: int, day: date, *, late: bool) -> None:
    cell = cell_at(sheet, row, column)
    put_date(cell, day)
    if late:
        cell.font = Font(name=FACE, bold=True, color=_RED)


def _put_sum(sheet: Worksheet, row: int, *, column: str, first: int, last: int) -> None:
    """Write the sum of a column of money below it."""
    put_text(cell_at(sheet, row, 1), "Total")
    cell = sheet[f"{column}{row}"]
    put_formula(cell, f"=SUM({column}{first}:{column}{last})", MONEY_FORMAT)
    rule = Border(top=Side(style="thin"))
    for index in range(1, cell.column + 1):
        total = cell_at(sheet, row, index)
        total.font = Font(name=FACE, bold=True)
        total.border = rule


def _in_unit(quantity: int, unit: str) -> Decimal:
    return amount_in(quantity, unit).quantize(_FINEST, rounding=ROUND_HALF_UP)
