"""Purchase orders that have been placed."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import Contract, Item, Supplier, SupplierItem
from inventory.services.entries import check_not_negative
from planning.models import OrderState, PurchaseLine, PurchaseOrder
from planning.queries.offered_prices import offered_prices


@dataclass(frozen=True, kw_only=True)
class OrderedLine:
    """An item ordered, in whole units of stock, and the day it is due.

    The rest is as of :class:`planning.models.PurchaseLine`, where it is known.
    """

    item: Item
    quantity: int
    due_on: date
    offer: SupplierItem | None = None
    contract: Contract | None = None
    pack_quantity: int | None = None
    pack_price: int | None = None
    need_by: date | None = None
    order_by: date | None = None
    runs: str = ""


@service
def write_order(
    *, by: User, code: str, supplier: Supplier, ordered_on: date, lines: Sequence[OrderedLine]
) -> PurchaseOrder:
    """Record an order already placed, or write it anew while nothing of it has come.

    A line that names no offer, and is whole packs of one of the supplier's, is of that offer, at
    its price for so many where none is given.

    Raises
    ------
    Refusal: ``order-without-lines``, ``order-quantity-not-positive``, ``order-line-twice``,
        ``order-due-before-ordered``, ``order-of-another-supplier``, ``order-already-closed`` or
        ``order-already-received``.
    """
    refuse_impossible_lines(code, ordered_on, lines)
    order = PurchaseOrder.objects.select_for_update().filter(code=code).first()
    before = order_facts(order) if order else None
    if order is None:
        order = PurchaseOrder(code=code, supplier=supplier, ordered_on=ordered_on)
        order.full_clean()
    else:
        _refuse_rewriting(order, supplier)
        order.ordered_on = ordered_on
        order.version += 1
        order.lines.all().delete()
    order.save()
    write_lines(order, _as_offered(supplier, lines))
    action = "wrote order" if before is None else "changed order"
    write_history(by=by, thing=order, action=action, before=before, after=order_facts(order))
    return order


def _as_offered(supplier: Supplier, lines: Sequence[OrderedLine]) -> list[OrderedLine]:
    """Return the lines with the offers and prices that they go by; two statements."""
    sold = SupplierItem.objects.filter(
        supplier=supplier, item__in=[line.item for line in lines if line.offer is None]
    )
    offers = list(sold.order_by("pack_quantity"))  # the largest pack that fits stands last
    found = {
        place: offer
        for place, line in enumerate(lines)
        for offer in offers
        if line.offer is None
        and offer.item_id == line.item.pk
        and line.quantity % offer.pack_quantity == 0
    }
    packs = {place: lines[place].quantity // offer.pack_quantity for place, offer in found.items()}
    prices = offered_prices((offer.pk, packs[place]) for place, offer in found.items())
    offered = list(lines)
    for place, offer in found.items():
        price = lines[place].pack_price
        if price is None:
            price = prices[offer.pk, packs[place]]
        offered[place] = replace(
            lines[place], offer=offer, pack_quantity=offer.pack_quantity, pack_price=price
        )
    return offered


def write_lines(order: PurchaseOrder, lines: Sequence[OrderedLine]) -> None:
    """Write the lines of an order that has none."""
    PurchaseLine.objects.bulk_create(
        PurchaseLine(
            order=order,
            item=line.item,
            quantity=line.quantity,
            due_on=line.due_on,
            offer=line.offer,
            contract=line.contract,
            pack_quantity=line.pack_quantity,
            pack_price=line.pack_price,
            need_by=line.need_by,
            order_by=line.order_by,
            runs=line.runs,
        )
        for line in lines
    )


def refuse_impossible_lines(code: str, ordered_on: date, lines: Sequence[OrderedLine]) -> None:
    """Refuse lines that no order can have."""
    if not lines:
        raise Refusal(
            "order-without-lines",
            f"The order {code} has no lines.",
            "Add the items that were ordered, each with its quantity and due date.",
        )
    for (item_code, due_on), times in Counter((ln.item.code, ln.due_on) for ln in lines).items():
        if times > 1:
            raise Refusal(
                "order-line-twice",
                f"The order {code} names {item_code} due on {due_on} {times} times.",
                "Add the quantities up into one line.",
            )
    for line in lines:
        if line.quantity < 1:
            raise Refusal(
                "order-quantity-not-positive",
                f"The order {code} asks for {line.quantity} of {line.item.code}.",
                "Give a quantity above zero, or leave the line out.",
            )
        check_not_negative(line.pack_price or 0, f"of money for a pack of {line.item.code}")
        refuse_due_before(code, ordered_on, line.item.code, line.due_on)


def refuse_due_before(code: str, ordered_on: date, item_code: str, due_on: date) -> None:
    """Refuse that something is due before it was ordered."""
    if due_on < ordered_on:
        raise Refusal(
            "order-due-before-ordered",
            f"{item_code} of order {code} is due on {due_on}, before it was ordered on "
            f"{ordered_on}.",
            "Correct one of the two dates.",
        )


def _refuse_rewriting(order: PurchaseOrder, supplier: Supplier) -> None:
    if order.supplier_id != supplier.pk:
        raise Refusal(
            "order-of-another-supplier",
            f"The order {order.code} was placed with {order.supplier.name}, "
            f"not with {supplier.name}.",
            "Give the new order a code of its own.",
        )
    if order.state != OrderState.SENT:
        raise Refusal(
            "order-already-closed",
            f"The order {order.code} is {order.get_state_display().lower()}.",
            "Give the new order a code of its own.",
        )
    if order.receipts.exists():
        raise Refusal(
            "order-already-received",
            f"A delivery of the order {order.code} was received already.",
            "Order what is still missing under a code of its own.",
        )


def order_facts(order: PurchaseOrder) -> dict[str, object]:
    """Return an order as history keeps it."""
    lines = order.lines.order_by("item__code", "due_on")
    return {
        "supplier": order.supplier.code,
        "ordered_on": order.ordered_on,
        "lines": list(lines.values("item__code", "quantity", "pack_price", "due_on")),
    }
