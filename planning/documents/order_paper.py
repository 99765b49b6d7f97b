"""A purchase order as a paper to send to the supplier."""

from __future__ import annotations

from pathlib import Path

from boxwort import figures
from boxwort.papers.printing import Reader, printed
from boxwort.quantities import read_naturally
from planning.models import OrderState
from planning.queries.purchase_orders import OrderDetail, OrderLineRow

LAYOUT = Path(__file__).parent / "layouts" / "order.typ"


def order_pdf(detail: OrderDetail, *, currency: str, reader: Reader) -> bytes:
    """Return an order: what is ordered in which packs, at what price and for when.

    A draft says that it is one, and a cancelled order that it is void.
    """
    order = detail.order
    data = {
        "title": f"Purchase order {order.code}",
        "producer": reader.producer,
        "order": order.code,
        "supplier": order.supplier_name,
        "void": order.state == OrderState.CANCELLED,
        "note": order.note,
        "facts": [
            {
                "label": "Draft of" if detail.is_draft else "Ordered",
                "value": figures.on_date(order.ordered_on),
            },
            {"label": "State", "value": order.state_words},
            {"label": "Total", "value": figures.money(order.total, currency)},
        ],
        "lines": [_line(line, currency, reader.units) for line in detail.lines],
        "total": figures.money(order.total, currency),
    }
    return printed(LAYOUT, data, dated=reader.on, paper=reader.paper)


def _line(line: OrderLineRow, currency: str, units: str) -> dict[str, str]:
    pack, packs = "", "as agreed"
    if line.pack_quantity:
        pack, packs = read_naturally(line.pack_quantity, line.measure, units), f"{line.packs:,}"
    price = "as agreed" if line.pack_price is None else figures.money(line.pack_price, currency)
    contract = f"Contract {line.contract_code}" if line.contract_code else ""
    return {
        "theirs": line.supplier_item_code,
        "ours": line.item_code,
        "item": line.item_name,
        "note": contract,
        "packs": packs,
        "pack": pack,
        "quantity": read_naturally(line.quantity, line.measure, units),
        "price": price,
        "cost": "" if line.cost is None else figures.money(line.cost, currency),
        "due_on": figures.on_date(line.due_on),
    }
