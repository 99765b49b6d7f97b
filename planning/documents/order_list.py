"""The open orders as a workbook, a sheet for each supplier, to change and send back."""

from __future__ import annotations

from datetime import datetime

from boxwort.figures import on_date
from boxwort.sheets.writing import new_workbook, put_title, sheet_name, workbook_bytes
from planning.documents.buying_sheet import put_rows
from planning.queries.buying_lists import BuyingList


def order_list_xlsx(listed: BuyingList, *, made_at: datetime, units: str = "metric") -> bytes:
    """Return the workbook; quantities in metric or US customary ("us") units."""
    workbook = new_workbook(f"Orders of {listed.producer}")
    said = (
        f"Orders of {listed.producer}, as of {on_date(listed.on)}. Packs, prices and expected days "
        "may be changed; the columns from Order on say where a row stands and must stay."
    )
    for supplier in listed.suppliers:
        put_rows(
            workbook.create_sheet(sheet_name(supplier.supplier_name, workbook.sheetnames)),
            title=f"{supplier.supplier_name} ({supplier.supplier_code})",
            said=said,
            rows=supplier.rows,
            currency=listed.currency,
            units=units,
        )
    if not listed.suppliers:
        put_title(workbook.create_sheet("Orders"), 1, "No order is a draft or awaited.")
    return workbook_bytes(workbook, made_at)
