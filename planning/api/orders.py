"""Purchase orders over the API: read, draft, send, receive, cancel; and what kits cost."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import in_stock, in_ten_thousandths
from boxwort.web.keys import key_of
from boxwort.web.operations_api import Act, Listing, Reading
from inventory.models import Place
from planning.api.order_shapes import (
    DraftAsked,
    DraftedSerializer,
    KitCostSerializer,
    OrderDetailSerializer,
    OrderReasonAsked,
    OrdersAsked,
    OrderSerializer,
    ReceiveAsked,
    SendAsked,
)
from planning.models import PurchaseOrder, Receipt
from planning.queries.kit_costs import KitCostRow, kit_cost_rows
from planning.queries.purchase_orders import OrderDetail, OrderRow, order_detail, order_rows
from planning.queries.purchasing import purchase_plan
from planning.services.drafting import draft_orders
from planning.services.purchase_orders import cancel_order, send_order
from planning.services.receipts import Arrived, receive_order, undo_receipt


class PurchaseOrders(Listing):
    """Return purchase orders, what presses first."""

    query = OrdersAsked
    answer = OrderSerializer

    def rows(self, **asked: Any) -> Sequence[OrderRow]:
        states = [asked["state"]] if "state" in asked else []
        return order_rows(timezone.localdate(), states=states)


class PurchaseOrderInFull(Reading):
    """Return an order with its lines and what has come of them."""

    answer = OrderDetailSerializer

    def found(self, **asked: Any) -> OrderDetail:
        return order_detail(asked["order_id"], timezone.localdate())


class PurchaseOrdersDraft(Act):
    """Draft what the purchase list proposes, one order for each supplier.

    A draft that a supplier has is written anew, so drafting twice orders nothing twice.
    """

    name = "draft_orders"
    right = Right.BUY
    body = DraftAsked
    result = DraftedSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> Mapping[str, Any]:
        today = timezone.localdate()
        supplier = asked.get("supplier")
        drafted = draft_orders(
            by=by,
            plan=purchase_plan(today, suggested=asked["suggested"], until=asked.get("until")),
            on=today,
            supplier_code=supplier.code if supplier else "",
        )
        codes = {order.code for order in drafted}
        return {"orders": [row for row in order_rows(today) if row.code in codes]}


class PurchaseOrderSend(Act):
    """Note that a draft was sent: from now on it counts as on order."""

    name = "send_order"
    right = Right.BUY
    body = SendAsked
    result = OrderDetailSerializer

    def done(self, by: User, **asked: Any) -> OrderDetail:
        order = get_object_or_404(PurchaseOrder, pk=asked["order_id"])
        send_order(by=by, order=order, expected=asked["version"], on=asked["on"])
        return order_detail(order.pk, timezone.localdate())


class PurchaseOrderCancel(Act):
    """Give up an order of which nothing has come."""

    name = "cancel_order"
    right = Right.BUY
    body = OrderReasonAsked
    result = OrderDetailSerializer

    def done(self, by: User, **asked: Any) -> OrderDetail:
        order = get_object_or_404(PurchaseOrder, pk=asked["order_id"])
        cancel_order(by=by, order=order, expected=asked["version"], reason=asked["reason"])
        return order_detail(order.pk, timezone.localdate())


class PurchaseOrderReceive(Act):
    """Take a delivery in: what is good becomes lots in quarantine at their landed cost."""

    name = "receive_order"
    right = Right.RECEIVE_LOT
    body = ReceiveAsked
    result = OrderDetailSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> OrderDetail:
        order = get_object_or_404(PurchaseOrder, pk=asked["order_id"])
        measures = dict(order.lines.values_list("pk", "item__measure"))
        freight = asked.get("freight")
        receive_order(
            by=by,
            order=order,
            expected=asked["version"],
            received_on=asked["received_on"],
            arrived=[_arrived(row, asked["place"], measures) for row in asked["lines"]],
            freight=in_ten_thousandths(freight) if freight else 0,
            delivery_note=asked.get("delivery_note", ""),
            key=key_of(self.request),
        )
        return order_detail(order.pk, timezone.localdate())


class ReceiptUndo(Act):
    """Take a receipt back whole, as if it had never come; its order awaits the delivery again."""

    name = "undo_receipt"
    right = Right.CORRECT_STOCK
    body = OrderReasonAsked
    result = OrderDetailSerializer

    def done(self, by: User, **asked: Any) -> OrderDetail:
        receipt = get_object_or_404(Receipt.objects.select_related("order"), pk=asked["receipt_id"])
        undo_receipt(
            by=by,
            receipt=receipt,
            expected=asked["version"],
            reason=asked["reason"],
            key=key_of(self.request),
        )
        return order_detail(receipt.order_id, timezone.localdate())


class KitCosts(Listing):
    """Return what each kit would cost now, and what its lots did cost."""

    answer = KitCostSerializer

    def rows(self, **asked: Any) -> Sequence[KitCostRow]:
        return kit_cost_rows()


def _arrived(row: Mapping[str, Any], place: Place, measures: Mapping[int, str]) -> Arrived:
    """Return what came of a line in whole units of stock."""
    line_id = row["line_id"]
    if line_id not in measures:
        raise ValidationError({"lines": [f"The order has no line {line_id}."]})
    measure = Measure(measures[line_id])
    return Arrived(
        line_id=line_id,
        place=place,
        quantity=in_stock(row["quantity"], measure) if "quantity" in row else 0,
        damaged=in_stock(row["damaged"], measure) if "damaged" in row else 0,
        damage=row.get("damage", ""),
        code=row.get("code", ""),
        supplier_lot=row.get("supplier_lot", ""),
        packaged_on=row.get("packaged_on"),
        best_before_on=row.get("best_before_on"),
        ends=row["ends"],
    )
