"""Deliveries against purchase orders."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from inventory.models import Lot, LotStatus, Place, PriceBreak
from inventory.queries.verify import stock_differences
from inventory.services.lots import scrap_lot
from inventory.services.works import shared_out
from planning.models import OrderState, PurchaseLine, Receipt
from planning.queries.item_costs import item_costs
from planning.services.purchase_orders import cancel_order, end_lines
from planning.services.receipts import Arrived, freight_weights, price_of, undo_receipt
from tests.at_once import at_once
from tests.make import key, refused
from tests.planning.buying import ON, SACK, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def test_a_delivery_becomes_a_lot_in_quarantine_under_the_suppliers_lot_code():
    shop = market()
    order = shop.sent()
    receipt = shop.received(order, shop.arrived(order, 4 * SACK, supplier_lot="DV-881"))
    lot = Lot.objects.get()
    assert (lot.status, lot.supplier, lot.supplier_lot) == (
        LotStatus.QUARANTINE,
        shop.supplier,
        "DV-881",
    )
    assert (lot.code, lot.stock.on_hand, receipt.lines.get().lot) == ("PALE-260302", 4 * SACK, lot)
    assert order.state == OrderState.CLOSED
    assert stock_differences() == []


def test_freight_is_shared_by_price_into_what_the_lots_cost():
    shop = market()
    order = shop.sent(shop.line(packs=3), shop.line(2, shop.sugar, pack_price=200_000))
    receipt = shop.received(
        order,
        shop.arrived(order, 3 * SACK),
        shop.arrived(order, 2 * SACK, at=1),
        freight=100_001,
    )
    malt, sugar = receipt.lines.order_by("pk")
    assert (malt.price, sugar.price) == (1_200_000, 400_000)
    assert (malt.landed, sugar.landed) == (1_275_000, 425_001)
    assert malt.landed + sugar.landed == malt.price + sugar.price + 100_001
    assert (malt.lot.cost_amount, malt.lot.cost_quantity) == (1_275_000, 3 * SACK)


@settings(max_examples=25)
@given(
    st.lists(st.tuples(st.integers(0, 10**8), st.integers(0, 10**9)), min_size=1, max_size=4),
    st.integers(0, 10**8),
)
def test_what_the_lots_cost_is_the_price_and_the_freight_exactly(parts, freight):
    arrived = [Arrived(line_id=1, quantity=quantity, place=Place()) for quantity, _ in parts]
    prices = [
        price_of(PurchaseLine(pack_price=price, pack_quantity=SACK), quantity)
        for quantity, price in parts
    ]
    weights = freight_weights(prices, arrived)
    landed = [
        price + share for price, share in zip(prices, shared_out(freight, weights), strict=True)
    ]
    carried = freight if any(weights) else 0  # a delivery of nothing good carries no cost
    assert sum(landed) == sum(prices) + carried


def test_freight_of_goods_without_a_price_is_shared_evenly():
    shop = market()
    PriceBreak.objects.all().delete()
    order = shop.sent(shop.line(pack_price=None), shop.line(1, shop.sugar, pack_price=None))
    receipt = shop.received(
        order, shop.arrived(order, SACK), shop.arrived(order, SACK, at=1), freight=10
    )
    assert [line.landed for line in receipt.lines.order_by("pk")] == [5, 5]


def test_a_short_delivery_leaves_the_line_open():
    shop = market()
    order = shop.sent()
    shop.received(order, shop.arrived(order, SACK))
    line = order.lines.get()
    assert (order.state, line.received) == (OrderState.PART_RECEIVED, SACK)
    shop.received(order, shop.arrived(order, 3 * SACK))
    assert order.state == OrderState.CLOSED


def test_a_short_delivery_may_be_all_that_will_come():
    shop = market()
    order = shop.sent()
    shop.received(order, shop.arrived(order, SACK, ends=True))
    line = order.lines.get()
    assert (order.state, line.ended) == (OrderState.CLOSED, True)
    with refused("order-not-sent"):
        shop.received(order, shop.arrived(order, SACK))
    end_lines(by=shop.by, order=order, expected=order.version, line_ids=[line.pk], ended=False)
    assert order.state == OrderState.PART_RECEIVED


def test_more_than_was_ordered_is_taken_in_as_it_came():
    shop = market()
    order = shop.sent()
    shop.received(order, shop.arrived(order, 5 * SACK))
    line = order.lines.get()
    assert (order.state, line.received) == (OrderState.CLOSED, 5 * SACK)
    assert Lot.objects.get().cost_amount == 5 * 400_000


def test_a_line_of_which_nothing_came_may_still_be_said_to_end():
    shop = market()
    order = shop.sent(shop.line(packs=1), shop.line(2, shop.sugar))
    receipt = shop.received(
        order, shop.arrived(order, SACK), shop.arrived(order, 0, at=1, ends=True)
    )
    assert receipt.lines.get().line.item.code == "PALE"
    assert (order.state, order.lines.get(item__code="SUGAR").ended) == (OrderState.CLOSED, True)


def test_parts_of_a_line_cost_together_what_the_line_costs():
    shop = market()
    order = shop.sent(shop.line(packs=1, pack_price=100))
    third = SACK // 3
    for quantity in (third, third, SACK - 2 * third):
        shop.received(order, shop.arrived(order, quantity))
    assert sum(Lot.objects.values_list("cost_amount", flat=True)) == 100


def test_what_came_damaged_is_told_and_not_taken_in():
    shop = market()
    order = shop.sent()
    with refused("damage-not-described"):
        shop.received(order, shop.arrived(order, 3 * SACK, damaged=SACK))
    receipt = shop.received(
        order, shop.arrived(order, 3 * SACK, damaged=SACK, damage="one sack was wet")
    )
    assert Lot.objects.get().stock.on_hand == 3 * SACK
    assert (receipt.lines.get().damaged, order.state) == (SACK, OrderState.PART_RECEIVED)


def test_a_delivery_of_nothing_but_damage_makes_no_lot():
    shop = market()
    order = shop.sent()
    receipt = shop.received(order, shop.arrived(order, 0, damaged=SACK, damage="wet"))
    assert (receipt.lines.get().lot, Lot.objects.count()) == (None, 0)
    assert order.state == OrderState.SENT
    with refused("freight-of-nothing"):
        shop.received(order, shop.arrived(order, 0, damaged=SACK, damage="wet"), freight=50_000)


def test_a_cancelled_order_stays_so_when_its_receipt_of_damage_is_undone():
    shop = market()
    order = shop.sent()
    receipt = shop.received(order, shop.arrived(order, 0, damaged=SACK, damage="wet"))
    cancel_order(by=shop.by, order=order, expected=order.version, reason="all wet")
    undo_receipt(
        by=shop.by, receipt=receipt, expected=receipt.version, reason="not ours", key=key()
    )
    order.refresh_from_db()
    assert (order.state, receipt.undone_at is None) == (OrderState.CANCELLED, False)


def test_one_line_may_come_in_two_lots_of_the_suppliers():
    shop = market()
    order = shop.sent()
    shop.received(
        order,
        shop.arrived(order, 2 * SACK, supplier_lot="A"),
        shop.arrived(order, 2 * SACK, supplier_lot="B"),
    )
    assert list(Lot.objects.values_list("code", "supplier_lot")) == [
        ("PALE-260302", "A"),
        ("PALE-260302A", "B"),
    ]
    assert order.state == OrderState.CLOSED


def test_a_delivery_of_nothing_and_one_to_come_are_refused():
    shop = market()
    order = shop.sent()
    with refused("nothing-arrived"):
        shop.received(order, shop.arrived(order, 0))
    with refused("date-to-come"):
        shop.received(order, shop.arrived(order, SACK), received_on=ON + timedelta(days=1))
    assert Receipt.objects.count() == 0


def test_asked_twice_a_delivery_is_taken_in_once():
    shop = market()
    order = shop.sent()
    arrived, once, expected = shop.arrived(order, SACK), key(), order.version
    first = shop.received(order, arrived, key=once, expected=expected)
    again = shop.received(order, arrived, key=once, expected=expected)
    assert (first, Lot.objects.count()) == (again, 1)
    other = replace(arrived, best_before_on=ON + timedelta(days=90))
    with refused("key-used-for-another-request"):
        shop.received(order, other, key=once, expected=expected)


def test_an_undone_receipt_is_awaited_again():
    shop = market()
    order = shop.sent()
    receipt = shop.received(
        order, shop.arrived(order, 4 * SACK, supplier_lot="A"), freight=2_000_000
    )
    undo_receipt(
        by=shop.by, receipt=receipt, expected=receipt.version, reason="wrong order", key=key()
    )
    order.refresh_from_db()
    assert (order.state, order.lines.get().received) == (OrderState.SENT, 0)
    lot = Lot.objects.get()
    assert (lot.stock.on_hand, lot.status) == (0, LotStatus.REJECTED)
    assert item_costs()[lot.item_id] == (400_000, SACK)  # without its freight
    assert receipt.undone_at is not None
    assert stock_differences() == []
    with refused("receipt-undone"):
        undo_receipt(
            by=shop.by, receipt=receipt, expected=receipt.version, reason="again", key=key()
        )


def test_a_receipt_of_which_something_was_used_stays():
    shop = market()
    order = shop.sent()
    receipt = shop.received(order, shop.arrived(order, SACK))
    scrap_lot(
        by=shop.by,
        lot=Lot.objects.get(),
        place=shop.shelf,
        quantity=1,
        occurred_on=ON,
        key=key(),
        reason="spilled",
    )
    with pytest.raises(Exception, match="used") as caught:
        undo_receipt(
            by=shop.by, receipt=receipt, expected=receipt.version, reason="wrong", key=key()
        )
    assert caught.typename == "Refusal"


@pytest.mark.services
@pytest.mark.django_db(transaction=True)
@pytest.mark.usefixtures("two_can_write")
def test_two_people_who_receive_one_delivery_take_it_in_once():
    shop = market()
    order = shop.sent()
    version = order.version
    arrived = shop.arrived(order, 4 * SACK)
    answers = at_once(*(lambda: shop.received(order, arrived, expected=version) for _ in range(2)))
    assert sorted(getattr(answer, "code", "")[:2] for answer in answers)[0] == "RC"
    assert Lot.objects.count() == Receipt.objects.count() == 1
    assert stock_differences() == []
