"""Purchase orders as people read them: what is drafted, awaited and late, and what has come."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction

from django.db.models import Prefetch, QuerySet
from django.shortcuts import get_object_or_404

from boxwort.quantities import Measure, read_naturally
from planning.models import ON_ORDER, OrderState, PurchaseLine, PurchaseOrder, Receipt
from planning.queries.landed_costs import landed_changes


@dataclass(frozen=True, kw_only=True)
class OrderLineRow:
    """A line of an order, in whole units of stock and ten-thousandths.

    Attributes
    ----------
    packs: None where the order does not say in which packs.
    left: what is still awaited.
    cost: of what was ordered; None: no price is known.
    late: the supplier should have delivered it before today.
    too_late: it is still to come, and for after the day on which it is needed.
    difference: in words, how what came differs from what was ordered.
    """

    id: int
    item_code: str
    item_name: str
    measure: Measure
    supplier_item_code: str
    contract_code: str
    packs: int | None
    pack_quantity: int | None
    pack_price: int | None
    quantity: int
    received: int
    left: int
    cost: int | None
    due_on: date
    need_by: date | None
    order_by: date | None
    runs: str
    ended: bool
    late: bool
    too_late: bool
    difference: str


@dataclass(frozen=True, kw_only=True)
class OrderRow:
    """An order in the list.

    ``total`` is ten-thousandths, ``unpriced`` the lines it leaves out. ``due_on`` is the first day
    on which something is awaited; ``order_by`` the day by which a draft must be sent.
    """

    id: int
    code: str
    version: int
    supplier_id: int
    supplier_code: str
    supplier_name: str
    state: str
    state_words: str
    ordered_on: date
    note: str
    lines: int
    total: int
    unpriced: int
    due_on: date | None
    order_by: date | None
    late: bool
    past_due: bool


@dataclass(frozen=True, kw_only=True)
class ReceiptLineRow:
    """What came of one line in one delivery.

    ``dearer`` is the share by which a unit cost more than in the delivery before; None: not known.
    """

    item_name: str
    measure: Measure
    lot_id: int | None
    lot_code: str
    supplier_lot: str
    quantity: int
    damaged: int
    damage: str
    price: int
    landed: int
    dearer: float | None


@dataclass(frozen=True, kw_only=True)
class ReceiptRow:
    """One delivery."""

    id: int
    code: str
    version: int
    received_on: date
    delivery_note: str
    freight: int
    received_by: str
    undone: bool
    lines: tuple[ReceiptLineRow, ...]


@dataclass(frozen=True, kw_only=True)
class OrderDetail:
    """An order with its lines and what has come of them."""

    order: OrderRow
    lines: tuple[OrderLineRow, ...]
    receipts: tuple[ReceiptRow, ...]

    @property
    def is_draft(self) -> bool:
        """Whether it has not been sent."""
        return self.order.state == OrderState.DRAFT

    @property
    def is_awaited(self) -> bool:
        """Whether something of it will still come."""
        return self.order.state in ON_ORDER

    @property
    def untouched(self) -> bool:
        """Whether nothing has come of it."""
        return not any(line.received for line in self.lines)


def order_rows(on: date, *, states: Iterable[str] = ()) -> list[OrderRow]:
    """Return the orders in these states, or all, what presses first; statements do not grow."""
    orders = _orders()
    wanted = list(states)
    if wanted:
        orders = orders.filter(state__in=wanted)
    rows = [_row(order, _lines(order, on), on) for order in orders]
    places = {state: place for place, state in enumerate(OrderState.values)}
    return sorted(
        rows,
        key=lambda row: (
            not (row.late or row.past_due),
            places[row.state],
            row.order_by or row.due_on or row.ordered_on,
            row.code,
        ),
    )


def order_detail(order_id: int, on: date) -> OrderDetail:
    """Return one order with its lines and receipts; statements do not grow."""
    order = get_object_or_404(_orders(), pk=order_id)
    lines = _lines(order, on)
    receipts = list(
        Receipt.objects.filter(order=order)
        .select_related("received_by")
        .prefetch_related("lines__lot", "lines__line__item")
        .order_by("-received_on", "-pk")
    )
    changes = landed_changes(line.item_id for line in order.lines.all()) if receipts else {}
    return OrderDetail(
        order=_row(order, lines, on),
        lines=lines,
        receipts=tuple(_receipt(receipt, changes) for receipt in receipts),
    )


def _orders() -> QuerySet[PurchaseOrder]:
    lines = PurchaseLine.objects.select_related("item", "offer", "contract")
    return PurchaseOrder.objects.select_related("supplier").prefetch_related(
        Prefetch("lines", lines)
    )


def _lines(order: PurchaseOrder, on: date) -> tuple[OrderLineRow, ...]:
    return tuple(_line(order, line, on) for line in order.lines.all())


def _line(order: PurchaseOrder, line: PurchaseLine, on: date) -> OrderLineRow:
    awaited = order.state in ON_ORDER and not line.ended
    left = max(line.quantity - line.received, 0) if awaited else 0
    to_come = left > 0 or order.state == OrderState.DRAFT
    packs, cost = None, None
    if line.pack_quantity:
        packs = line.quantity // line.pack_quantity
        if line.pack_price is not None:
            cost = round(Fraction(line.pack_price * line.quantity, line.pack_quantity))
    measure = Measure(line.item.measure)
    return OrderLineRow(
        id=line.pk,
        item_code=line.item.code,
        item_name=line.item.name,
        measure=measure,
        supplier_item_code=line.offer.supplier_code if line.offer else "",
        contract_code=line.contract.code if line.contract else "",
        packs=packs,
        pack_quantity=line.pack_quantity,
        pack_price=line.pack_price,
        quantity=line.quantity,
        received=line.received,
        left=left,
        cost=cost,
        due_on=line.due_on,
        need_by=line.need_by,
        order_by=line.order_by,
        runs=line.runs,
        ended=line.ended,
        late=left > 0 and line.due_on < on,
        too_late=to_come and line.need_by is not None and line.due_on > line.need_by,
        difference=_difference(line, measure),
    )


def _difference(line: PurchaseLine, measure: Measure) -> str:
    if line.received > line.quantity:
        return f"{read_naturally(line.received - line.quantity, measure)} more than ordered"
    if line.ended and line.received < line.quantity:
        lacking = read_naturally(line.quantity - line.received, measure)
        return f"{lacking} less than ordered: the rest will not come"
    return ""


def _row(order: PurchaseOrder, lines: tuple[OrderLineRow, ...], on: date) -> OrderRow:
    draft = order.state == OrderState.DRAFT
    order_by = min((line.order_by for line in lines if line.order_by), default=None)
    return OrderRow(
        id=order.pk,
        code=order.code,
        version=order.version,
        supplier_id=order.supplier_id,
        supplier_code=order.supplier.code,
        supplier_name=order.supplier.name,
        state=order.state,
        state_words=order.get_state_display(),
        ordered_on=order.ordered_on,
        note=order.note,
        lines=len(lines),
        total=sum(line.cost or 0 for line in lines),
        unpriced=sum(line.cost is None for line in lines),
        due_on=min((line.due_on for line in lines if line.left), default=None),
        order_by=order_by if draft else None,
        late=any(line.late for line in lines),
        past_due=draft and order_by is not None and order_by < on,
    )


def _receipt(receipt: Receipt, changes: Mapping[int, float]) -> ReceiptRow:
    by = receipt.received_by
    return ReceiptRow(
        id=receipt.pk,
        code=receipt.code,
        version=receipt.version,
        received_on=receipt.received_on,
        delivery_note=receipt.delivery_note,
        freight=receipt.freight,
        received_by=by.named,
        undone=receipt.undone_at is not None,
        lines=tuple(
            ReceiptLineRow(
                item_name=row.line.item.name,
                measure=Measure(row.line.item.measure),
                lot_id=row.lot_id,
                lot_code=row.lot.code if row.lot else "",
                supplier_lot=row.lot.supplier_lot if row.lot else "",
                quantity=row.quantity,
                damaged=row.damaged,
                damage=row.damage,
                price=row.price,
                landed=row.landed,
                dearer=changes.get(row.pk),
            )
            for row in receipt.lines.all()
        ),
    )
