"""The purchase list as a workbook: a summary, and a sheet that each supplier can be sent.

Line totals and sums are live formulas, so that a buyer who changes the packs sees what it comes to;
what is changed comes back (see :mod:`planning.queries.buying_lists`).
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime

from openpyxl.worksheet.worksheet import Worksheet

from boxwort.figures import on_date
from boxwort.quantities import read_naturally
from boxwort.sheets.writing import (
    DATE_FORMAT,
    Column,
    cell_at,
    finish_table,
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
from planning.documents.buying_sheet import (
    HEADING_ROW,
    MONEY_FORMAT,
    TOTAL,
    put_day,
    put_rows,
    put_sum,
)
from planning.queries.buying_lists import suggested_row
from planning.queries.purchasing import PurchasePlan, SupplierPlan, UnofferedRow

SUMMARY = "Summary"
UNOFFERED = "No supplier"


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
    put_heading(sheet, HEADING_ROW, columns)
    row = HEADING_ROW
    for row, (supplier, name, total_row) in enumerate(sheets, start=HEADING_ROW + 1):
        lines = f"{quoted(name)}!A{HEADING_ROW + 1}:A{total_row - 1}"
        put_text(cell_at(sheet, row, 1), supplier.supplier_code)
        put_text(cell_at(sheet, row, 2), supplier.supplier_name)
        put_formula(cell_at(sheet, row, 3), f"=ROWS({lines})", "0")
        put_formula(cell_at(sheet, row, 4), f"={quoted(name)}!{TOTAL}{total_row}", MONEY_FORMAT)
        put_day(sheet, row, 5, supplier.order_by, late=supplier.order_by < plan.on)
        put_number(cell_at(sheet, row, 6), supplier.past_due, "0")
    finish_table(sheet, heading_row=HEADING_ROW, last_row=row, columns=len(columns))
    if sheets:
        put_sum(sheet, row + 1, column="D", first=HEADING_ROW + 1, last=row)


def _what_it_says(plan: PurchasePlan) -> str:
    runs = "planned and suggested runs" if plan.with_suggested else "planned runs"
    written = f"As of {on_date(plan.on)}, for {runs}, customers and safety stocks."
    if plan.until is not None:
        written += f" Only what must be ordered by {on_date(plan.until)}."
    if not plan.suppliers and not plan.unoffered and not plan.later:
        return f"{written} Nothing to buy: stock and orders cover every run."
    if plan.unoffered:
        return (
            f"{written} No supplier offers {len(plan.unoffered)} of the items: see the last sheet."
        )
    return written


def _supplier_sheet(
    sheet: Worksheet, supplier: SupplierPlan, plan: PurchasePlan, units: str
) -> int:
    """Fill a supplier's sheet and return the row of its total."""
    late = f" Past due: {supplier.past_due} of {len(supplier.lines)}." if supplier.past_due else ""
    return put_rows(
        sheet,
        title=f"{supplier.supplier_name} ({supplier.supplier_code})",
        said=f"Purchase list of {plan.producer}, as of {on_date(plan.on)}. "
        f"Order by {on_date(supplier.order_by)}.{late}",
        rows=[suggested_row(line, plan.until) for line in supplier.lines],
        currency=plan.currency,
        units=units,
    )


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
    put_heading(sheet, HEADING_ROW, columns)
    for index, row in enumerate(rows, start=HEADING_ROW + 1):
        put_text(cell_at(sheet, index, 1), row.item_code)
        put_text(cell_at(sheet, index, 2), row.item_name)
        put_text(cell_at(sheet, index, 3), read_naturally(row.net, row.measure, units))
        put_date(cell_at(sheet, index, 4), row.need_by)
        put_text(cell_at(sheet, index, 5), ", ".join(row.runs) or "Safety stock")
        put_text(cell_at(sheet, index, 6), row.remedy, wrapped=True)
    last = HEADING_ROW + len(rows)
    finish_table(sheet, heading_row=HEADING_ROW, last_row=last, columns=len(columns))
