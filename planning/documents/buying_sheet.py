"""A supplier's sheet of a buying list: the purchase list and the list of orders have the same."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from decimal import ROUND_HALF_UP, Decimal

from openpyxl.styles import Border, Font, Side
from openpyxl.worksheet.worksheet import Worksheet

from boxwort.quantities import UNITS, amount_in, natural_unit
from boxwort.sheets.writing import (
    DATE_FORMAT,
    FACE,
    Column,
    cell_at,
    finish_table,
    fit_row,
    put_date,
    put_formula,
    put_heading,
    put_number,
    put_text,
    put_title,
)
from planning.queries.buying_lists import ListRow, price_title, total_title

HEADING_ROW = 4
MONEY_FORMAT = "#,##0.00"
PRICE_FORMAT = "#,##0.00##"
TOTAL = "M"
"""The column of line totals."""
PRINTED = "R"
"""The last column that is printed; those after it tell the rows apart when the list comes back."""
_QUANTITY = "#,##0.###"
_MONEY = Decimal(10_000)
_FINEST = Decimal("0.000001")
_RED = "FF8A1C1C"


def put_rows(
    sheet: Worksheet,
    *,
    title: str,
    said: str,
    rows: Sequence[ListRow],
    currency: str,
    units: str,
) -> int:
    """Fill a supplier's sheet and return the row of its total."""
    columns = _columns(currency)
    put_title(sheet, 1, title)
    put_title(sheet, 2, said, size=10, bold=False)
    put_heading(sheet, HEADING_ROW, columns)
    first = HEADING_ROW + 1
    for index, row in enumerate(rows, start=first):
        _put_row(sheet, index, row, units)
        fit_row(sheet, index, columns)
    last = first + len(rows) - 1
    finish_table(sheet, heading_row=HEADING_ROW, last_row=last, columns=len(columns))
    put_sum(sheet, last + 1, column=TOTAL, first=first, last=last)
    sheet.print_area = f"A1:{PRINTED}{last + 1}"
    return last + 1


def put_day(sheet: Worksheet, row: int, column: int, day: date | None, *, late: bool) -> None:
    """Write a day, in red where it is over."""
    cell = cell_at(sheet, row, column)
    put_date(cell, day)
    if late:
        cell.font = Font(name=FACE, bold=True, color=_RED)


def put_sum(sheet: Worksheet, row: int, *, column: str, first: int, last: int) -> None:
    """Write the sum of a column of money below it."""
    put_text(cell_at(sheet, row, 1), "Total")
    cell = sheet[f"{column}{row}"]
    put_formula(cell, f"=SUM({column}{first}:{column}{last})", MONEY_FORMAT)
    rule = Border(top=Side(style="thin"))
    for index in range(1, cell.column + 1):
        total = cell_at(sheet, row, index)
        total.font = Font(name=FACE, bold=True)
        total.border = rule


def _columns(currency: str) -> tuple[Column, ...]:
    return (
        Column(title="Our code", width=14),
        Column(title="Their code", width=14),
        Column(title="Item", width=25),
        Column(title="Unit", width=6),
        Column(title="Needed (unit)", width=11, number_format=_QUANTITY),
        Column(title="On hand (unit)", width=11, number_format=_QUANTITY),
        Column(title="On order (unit)", width=11, number_format=_QUANTITY),
        Column(title="To cover (unit)", width=11, number_format=_QUANTITY),
        Column(title="Pack (unit)", width=11, number_format=_QUANTITY),
        Column(title="Packs", width=8, number_format="0"),
        Column(title="Quantity (unit)", width=11, number_format=_QUANTITY),
        Column(title=price_title(currency), width=12, number_format=PRICE_FORMAT),
        Column(title=total_title(currency), width=13, number_format=MONEY_FORMAT),
        Column(title="Expected", width=12, number_format=DATE_FORMAT),
        Column(title="Need by", width=12, number_format=DATE_FORMAT),
        Column(title="Order by", width=12, number_format=DATE_FORMAT),
        Column(title="For runs", width=36),
        Column(title="Remarks", width=40),
        Column(title="Order", width=14),
        Column(title="Line", width=6, number_format="0"),
        Column(title="Version", width=8, number_format="0"),
        Column(title="Offer", width=8, number_format="0"),
        Column(title="Contract", width=14),
        Column(title="Listed to", width=12, number_format=DATE_FORMAT),
    )


def _put_row(sheet: Worksheet, at: int, row: ListRow, units: str) -> None:
    unit = natural_unit(row.pack_quantity or row.quantity, row.measure, units)
    number_format = f"#,##0.{'0' * UNITS[unit].decimals}".rstrip(".")
    names = (row.item_code, row.supplier_item_code, row.item_name, unit)
    for column, name in enumerate(names, start=1):
        put_text(cell_at(sheet, at, column), name, wrapped=True)
    quantities = (row.needed, row.on_hand, row.on_order, row.net, row.pack_quantity)
    for column, quantity in enumerate(quantities, start=5):
        put_number(cell_at(sheet, at, column), _in_unit(quantity, unit), number_format)
    put_number(cell_at(sheet, at, 10), row.packs, "0")
    if row.packs is None:
        put_number(cell_at(sheet, at, 11), _in_unit(row.quantity, unit), number_format)
    else:
        put_formula(cell_at(sheet, at, 11), f"=I{at}*J{at}", number_format)
    price = None if row.pack_price is None else row.pack_price / _MONEY
    put_number(cell_at(sheet, at, 12), price, PRICE_FORMAT)
    put_formula(cell_at(sheet, at, 13), f"=J{at}*L{at}", MONEY_FORMAT)
    put_date(cell_at(sheet, at, 14), row.expected_on)
    put_date(cell_at(sheet, at, 15), row.need_by)
    put_day(sheet, at, 16, row.order_by, late=row.late)
    put_text(cell_at(sheet, at, 17), row.runs, wrapped=True)
    put_text(cell_at(sheet, at, 18), row.remarks, wrapped=True)
    put_text(cell_at(sheet, at, 19), row.order_code)
    for column, number in enumerate((row.line, row.version, row.offer_id), start=20):
        put_number(cell_at(sheet, at, column), number or None, "0")
    put_text(cell_at(sheet, at, 23), row.contract)
    put_date(cell_at(sheet, at, 24), row.listed_to)


def _in_unit(quantity: int | None, unit: str) -> Decimal | None:
    if quantity is None:
        return None
    return amount_in(quantity, unit).quantize(_FINEST, rounding=ROUND_HALF_UP)
