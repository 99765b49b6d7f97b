"""What a supplier confirms of an order that was sent."""

from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.accounts.models import History
from planning.models import OrderState
from planning.services.confirming import Confirmed, confirm_lines
from planning.services.orders import OrderedLine, write_order
from tests.make import refused
from tests.planning.buying import DUE, ON, SACK, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def confirmed(shop, order, at=0, **facts):
    line = order.lines.order_by("pk")[at]
    lines = {line.pk: Confirmed(**facts)}
    confirm_lines(by=shop.by, order=order, expected=order.version, lines=lines)
    line.refresh_from_db()
    return line


def test_the_days_a_supplier_promises_are_taken_over():
    shop = market()
    order = shop.sent(shop.line(), shop.line(offer=shop.sugar))
    later = DUE + timedelta(days=3)
    confirmed(shop, order, due_on=later)
    assert [line.due_on for line in order.lines.order_by("pk")] == [later, DUE]
    kept = History.objects.get(action="took over lines").after
    assert [line["item"] for line in kept["lines"]] == ["PALE"]
    with refused("line-of-another-order"):
        lines = {0: Confirmed(due_on=later)}
        confirm_lines(by=shop.by, order=order, expected=order.version, lines=lines)


def test_one_day_for_two_lines_of_an_item_is_refused():
    shop = market()
    order = shop.sent(shop.line(), shop.line(due_on=DUE + timedelta(days=7)))
    with refused("order-line-twice"):
        confirmed(shop, order, due_on=DUE + timedelta(days=7))


def test_a_price_that_is_confirmed_holds_for_what_has_still_to_come():
    shop = market()
    order = shop.sent(shop.line(packs=4))
    first = shop.received(order, shop.arrived(order, SACK))
    confirmed(shop, order, pack_price=410_000)
    second = shop.received(order, shop.arrived(order, 3 * SACK))
    assert [receipt.lines.get().price for receipt in (first, second)] == [400_000, 1_230_000]


@pytest.mark.parametrize(
    ("confirmed", "code"),
    [
        (Confirmed(due_on=ON - timedelta(days=1)), "order-due-before-ordered"),
        (Confirmed(pack_price=-1), "quantity-negative"),
    ],
)
def test_what_no_supplier_can_confirm_is_refused(confirmed, code):
    shop = market()
    order = shop.sent()
    lines = {order.lines.get().pk: confirmed}
    with refused(code):
        confirm_lines(by=shop.by, order=order, expected=order.version, lines=lines)


def test_a_supplier_may_confirm_fewer_packs_but_never_less_than_has_come():
    shop = market()
    order = shop.sent(shop.line(packs=4))
    shop.received(order, shop.arrived(order, 2 * SACK))
    with refused("more-than-sent"):
        confirmed(shop, order, packs=5)
    with refused("fewer-than-came"):
        confirmed(shop, order, packs=1)
    line = confirmed(shop, order, packs=2)
    assert (line.quantity, order.state) == (2 * SACK, OrderState.CLOSED)


def test_a_line_without_a_pack_takes_a_day_alone():
    shop = market()
    order = write_order(
        by=shop.by,
        code="PO-7",
        supplier=shop.supplier,
        ordered_on=ON,
        lines=[OrderedLine(item=shop.malt.item, quantity=7, due_on=DUE)],
    )
    with refused("line-without-packs"):
        confirmed(shop, order, pack_price=1)
    assert confirmed(shop, order, due_on=DUE + timedelta(days=1)).due_on > DUE


def test_an_order_already_placed_is_of_the_offer_whose_packs_it_is():
    shop = market()
    order = write_order(
        by=shop.by,
        code="PO-8",
        supplier=shop.supplier,
        ordered_on=ON,
        lines=[
            OrderedLine(item=shop.malt.item, quantity=3 * SACK, due_on=DUE),
            OrderedLine(item=shop.sugar.item, quantity=SACK, due_on=DUE, pack_price=190_000),
        ],
    )
    malt, sugar = order.lines.order_by("pk")
    assert (malt.offer, malt.pack_quantity, malt.pack_price) == (shop.malt, SACK, 400_000)
    assert (sugar.offer, sugar.pack_price) == (shop.sugar, 190_000)
