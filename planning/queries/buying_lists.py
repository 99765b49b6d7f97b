"""The table of a buying list: what is ordered, or only suggested, as a spreadsheet holds it.

The same table goes out with the purchase list and with the orders, and comes back with packs,
prices and days changed. A row that stands on an order names it, its line and the version that the
order had; a row that is only suggested names the offer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import Prefetch

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from boxwort.sheets import cells
from boxwort.sheets.forms import Column, SheetForm, column, optional
from planning.models import ON_ORDER, OrderState, PurchaseLine, PurchaseOrder
from planning.queries.purchasing import PurchaseRow

RUNS_LENGTH: int = PurchaseLine._meta.get_field("runs").max_length or 0
OPEN = (OrderState.DRAFT, *ON_ORDER)
MOST_PACKS = 1_000_000
"""More packs than anybody orders: a slip of the pen."""


@dataclass(frozen=True, kw_only=True)
class ListRow:
    """One row: whole units of stock, ten-thousandths.

    Attributes
    ----------
    needed, on_hand, on_order, net: of the item as the plan has them; None beside an order.
    packs, pack_quantity: None where an order does not say in which packs.
    quantity: in all.
    late: it should have been ordered before.
    order_code, line, version: where it stands; ``line`` counts from 1. "" and 0: nowhere yet.
    offer_id: what is bought; 0: not known.
    contract: the code of what is called off; "": none.
    listed_to: the list names only what must be ordered by this day; None: all of it.
    """

    item_code: str
    supplier_item_code: str
    item_name: str
    measure: Measure
    needed: int | None = None
    on_hand: int | None = None
    on_order: int | None = None
    net: int | None = None
    pack_quantity: int | None
    packs: int | None
    quantity: int
    pack_price: int | None
    expected_on: date
    need_by: date | None
    order_by: date | None
    late: bool
    runs: str
    remarks: str = ""
    order_code: str = ""
    line: int = 0
    version: int = 0
    offer_id: int = 0
    contract: str = ""
    listed_to: date | None = None


@dataclass(frozen=True, kw_only=True)
class SupplierList:
    """The rows of one supplier, and when the first of them must be ordered."""

    supplier_code: str
    supplier_name: str
    rows: tuple[ListRow, ...]


@dataclass(frozen=True, kw_only=True)
class BuyingList:
    """The orders that are open, as of ``on``, by supplier."""

    on: date
    producer: str
    currency: str
    suppliers: tuple[SupplierList, ...]


def list_form(currency: str) -> SheetForm:
    """Return the form by which a list is read again; what is not read is for people alone."""
    quantity = Column(
        name="quantity",
        readers={"Quantity (unit)": cells.decimal(least=0)},
        required=False,
        worked_out=True,
    )
    return SheetForm(
        name="",
        foot="Total",
        columns=(
            column("item", "Our code", cells.code),
            optional("unit", "Unit", cells.unit),
            optional("packs", "Packs", cells.whole(most=MOST_PACKS)),
            quantity,
            optional("pack_price", price_title(currency), cells.money),
            optional("expected_on", "Expected", cells.day),
            optional("need_by", "Need by", cells.day),
            optional("order_by", "Order by", cells.day),
            optional("runs", "For runs", cells.text(RUNS_LENGTH), default=""),
            optional("order", "Order", cells.code),
            optional("line", "Line", cells.whole(least=1, most=10_000)),
            optional("version", "Version", cells.whole(least=1)),
            optional("offer", "Offer", cells.whole(least=1, most=2**31)),
            optional("contract", "Contract", cells.code),
            optional("listed_to", "Listed to", cells.day),
        ),
        ignored=(
            "Their code", "Item", "Needed (unit)", "On hand (unit)", "On order (unit)",
            "To cover (unit)", "Pack (unit)", total_title(currency), "Remarks",
        ),
    )  # fmt: skip


def price_title(currency: str) -> str:
    """Return the title of the column of prices."""
    return f"Price per pack ({currency})"


def total_title(currency: str) -> str:
    """Return the title of the column of line totals."""
    return f"Line total ({currency})"


def suggested_row(line: PurchaseRow, listed_to: date | None) -> ListRow:
    """Return a line of the purchase list as a row that stands on no order yet."""
    return ListRow(
        item_code=line.item_code,
        supplier_item_code=line.supplier_item_code,
        item_name=line.item_name,
        measure=line.measure,
        needed=line.needed,
        on_hand=line.on_hand,
        on_order=line.on_order,
        net=line.net,
        pack_quantity=line.pack_quantity,
        packs=line.packs,
        quantity=line.quantity,
        pack_price=line.pack_price,
        expected_on=line.expected_on,
        need_by=line.need_by,
        order_by=line.order_by,
        late=line.past_due,
        runs=", ".join(line.runs) or "Safety stock",
        remarks=" ".join((*line.reasons, *line.advice)),
        offer_id=line.offer_id,
        contract=line.contract,
        listed_to=listed_to,
    )


def order_list(on: date) -> BuyingList:
    """Return the lines of every draft, and of every sent order what is still awaited."""
    site = site_settings()
    orders = open_orders()
    suppliers = {order.supplier for order in orders}
    return BuyingList(
        on=on,
        producer=site.producer,
        currency=site.currency,
        suppliers=tuple(
            SupplierList(
                supplier_code=supplier.code,
                supplier_name=supplier.name,
                rows=tuple(_rows((row for row in orders if row.supplier == supplier), on)),
            )
            for supplier in sorted(suppliers, key=lambda row: row.code)
        ),
    )


def open_orders() -> list[PurchaseOrder]:
    """Return the orders that are drafts or awaited, with their lines in order; two statements."""
    lines = PurchaseLine.objects.select_related("item", "offer", "contract").order_by("pk")
    return list(
        PurchaseOrder.objects.filter(state__in=OPEN)
        .select_related("supplier")
        .prefetch_related(Prefetch("lines", lines))
        .order_by("code")
    )


def _rows(orders: Iterable[PurchaseOrder], on: date) -> Iterator[ListRow]:
    for order in orders:
        draft = order.state == OrderState.DRAFT
        for number, line in enumerate(order.lines.all(), start=1):
            if draft or (not line.ended and line.received < line.quantity):
                yield _row(order, line, number, late=draft and _is_late(line, on))


def _is_late(line: PurchaseLine, on: date) -> bool:
    return line.order_by is not None and line.order_by < on


def _row(order: PurchaseOrder, line: PurchaseLine, number: int, *, late: bool) -> ListRow:
    remarks = [str(order.get_state_display())]
    remarks += ["part of it has come"] if line.received else []
    return ListRow(
        item_code=line.item.code,
        supplier_item_code=line.offer.supplier_code if line.offer else "",
        item_name=line.item.name,
        measure=Measure(line.item.measure),
        pack_quantity=line.pack_quantity,
        packs=line.quantity // line.pack_quantity if line.pack_quantity else None,
        quantity=line.quantity,
        pack_price=line.pack_price,
        expected_on=line.due_on,
        need_by=line.need_by,
        order_by=line.order_by,
        late=late,
        runs=line.runs,
        remarks="; ".join(remarks),
        order_code=order.code,
        line=number,
        version=order.version,
        offer_id=line.offer_id or 0,
        contract=line.contract.code if line.contract else "",
    )
