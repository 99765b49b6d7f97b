"""Purchase orders as they are read: what presses, what differs, what it cost."""

from __future__ import annotations

from datetime import timedelta

import pytest

from planning.models import OrderState
from planning.queries.purchase_orders import order_detail, order_rows
from planning.services.purchase_orders import end_lines, send_order
from planning.services.receipts import undo_receipt
from tests.make import key
from tests.planning.buying import DUE, ON, SACK, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def test_what_presses_stands_first():
    shop = market()
    late = shop.sent(shop.line(due_on=ON))
    draft = shop.draft(shop.line(order_by=ON + timedelta(days=9)))
    rows = order_rows(ON + timedelta(days=1))
    assert [(row.code, row.late, row.past_due) for row in rows] == [
        (late.code, True, False),
        (draft.code, False, False),
    ]
    assert order_rows(ON + timedelta(days=10))[0].past_due
    assert [row.code for row in order_rows(ON, states=[OrderState.DRAFT])] == [draft.code]


def test_a_line_says_packs_price_and_what_is_awaited():
    shop = market()
    order = shop.sent(shop.line(packs=4, need_by=DUE - timedelta(days=1)))
    shop.received(order, shop.arrived(order, SACK))
    (line,) = order_detail(order.pk, ON).lines
    assert (line.packs, line.cost, line.left, line.too_late) == (4, 1_600_000, 3 * SACK, True)
    assert line.difference == ""


def test_what_came_otherwise_than_ordered_is_said():
    shop = market()
    order = shop.sent(shop.line(), shop.line(offer=shop.sugar))
    shop.received(order, shop.arrived(order, 5 * SACK), shop.arrived(order, SACK, at=1))
    sugar = order.lines.order_by("pk")[1]
    end_lines(by=shop.by, order=order, expected=order.version, line_ids=[sugar.pk], ended=True)
    more, less = order_detail(order.pk, ON).lines
    assert more.difference.endswith("more than ordered")
    assert less.difference.endswith("less than ordered: the rest will not come")


def test_a_receipt_names_its_lots_and_what_was_damaged():
    shop = market()
    order = shop.sent()
    shop.received(
        order,
        shop.arrived(order, SACK, supplier_lot="DV-9", damaged=SACK, damage="wet"),
        freight=1000,
    )
    (receipt,) = order_detail(order.pk, ON).receipts
    (line,) = receipt.lines
    assert (line.lot_code, line.supplier_lot, line.damage) == ("PALE-260302", "DV-9", "wet")
    assert (line.price, line.landed, receipt.freight) == (400_000, 401_000, 1000)


def test_a_delivery_says_how_much_dearer_a_unit_was_than_the_one_before():
    shop = market()
    first = shop.sent(shop.line(packs=4))
    shop.received(first, shop.arrived(first, 4 * SACK))
    second = shop.sent(shop.line(packs=2, pack_price=420_000))
    undone = shop.received(second, shop.arrived(second, SACK), freight=99)
    undo_receipt(by=shop.by, receipt=undone, expected=1, reason="theirs", key=key())
    second.refresh_from_db()
    shop.received(second, shop.arrived(second, 2 * SACK))
    (line,) = order_detail(first.pk, ON).receipts[0].lines
    assert line.dearer is None
    found = {row.undone: row.lines[0].dearer for row in order_detail(second.pk, ON).receipts}
    assert found == {True: None, False: pytest.approx(0.05)}


def test_thirty_orders_are_read_in_as_many_statements_as_three(django_assert_num_queries):
    shop = market()
    for _ in range(3):
        shop.sent()
    with django_assert_num_queries(2):
        order_rows(ON)
    for _ in range(9):
        order = shop.draft()
        send_order(by=shop.by, order=order, expected=order.version, on=ON)
        shop.received(order, shop.arrived(order, SACK))
    with django_assert_num_queries(2):
        order_rows(ON)
    with django_assert_num_queries(8):
        order_detail(order.pk, ON)
