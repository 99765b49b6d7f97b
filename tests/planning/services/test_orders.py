"""Recording purchase orders that were placed."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from inventory.services.catalogue import write_supplier
from planning.models import OrderState, PurchaseLine, PurchaseOrder, Receipt
from planning.services.orders import OrderedLine, write_order
from tests.make import item, refused
from tests.planning.make import planner

pytestmark = pytest.mark.django_db
ORDERED_ON = date(2026, 11, 25)
DUE_ON = ORDERED_ON + timedelta(days=7)


def line(code="PALE", quantity=1000, due_on=DUE_ON):
    return OrderedLine(item=item(code), quantity=quantity, due_on=due_on)


def placed(*lines, supplier="MALTCO"):
    return write_order(
        by=planner(),
        code="PO-1",
        supplier=write_supplier(by=planner(), code=supplier, name=supplier.title()),
        ordered_on=ORDERED_ON,
        lines=lines or [line()],
    )


def test_an_order_is_kept_with_its_lines():
    placed(line(), line("PALE", 500, DUE_ON + timedelta(days=1)), line("WHEAT"))
    order = PurchaseOrder.objects.get()
    assert (order.state, order.lines.count()) == (OrderState.SENT, 3)


def test_an_order_is_written_anew_while_nothing_has_come():
    placed()
    order = placed(line(quantity=2000))
    assert (order.version, PurchaseLine.objects.get().quantity) == (2, 2000)


def test_an_order_that_came_in_part_or_is_closed_is_not_rewritten():
    order = placed()
    Receipt.objects.create(code="RC-1", order=order, received_on=DUE_ON, received_by=planner())
    with refused("order-already-received"):
        placed()
    PurchaseOrder.objects.update(state=OrderState.CLOSED)
    with refused("order-already-closed"):
        placed()


def test_an_order_stays_with_its_supplier():
    placed()
    with refused("order-of-another-supplier"):
        placed(supplier="OTHER")


def test_what_cannot_be_an_order_is_refused():
    with refused("order-line-twice"):
        placed(line(), line())
    with refused("order-quantity-not-positive"):
        placed(line(quantity=0))
    with refused("order-due-before-ordered"):
        placed(line(due_on=ORDERED_ON - timedelta(days=1)))
    with refused("order-without-lines"):
        write_order(
            by=planner(),
            code="PO-2",
            supplier=write_supplier(by=planner(), code="MALTCO", name="Malt & Co"),
            ordered_on=ORDERED_ON,
            lines=[],
        )
