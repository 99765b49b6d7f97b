"""Purchase orders from the draft to the day that nothing more is awaited."""

from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.accounts.models import History
from inventory.models import Contract
from inventory.services.catalogue import write_supplier
from planning.models import OrderState, PurchaseOrder
from planning.services.purchase_orders import (
    cancel_order,
    change_draft,
    draft_order,
    end_lines,
    send_order,
)
from tests.make import refused
from tests.planning.buying import DUE, ON, SACK, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def test_a_draft_holds_packs_with_their_price():
    shop = market()
    order = shop.draft(shop.line(packs=4, runs="R260309-1", need_by=DUE))
    line = order.lines.get()
    assert (order.state, order.code) == (OrderState.DRAFT, "PO260302-1")
    assert (line.quantity, line.pack_quantity, line.pack_price) == (4 * SACK, SACK, 400_000)
    assert (line.runs, line.need_by) == ("R260309-1", DUE)


def test_drafting_again_writes_the_one_draft_anew():
    shop = market()
    shop.draft(shop.line(packs=4))
    order = shop.draft(shop.line(packs=6), shop.line(packs=1, offer=shop.sugar))
    assert PurchaseOrder.objects.count() == 1
    assert [line.quantity for line in order.lines.order_by("pk")] == [6 * SACK, SACK]
    assert History.objects.filter(action="wrote order lines").count() == 1


def test_after_sending_the_next_draft_is_an_order_of_its_own():
    shop = market()
    shop.sent()
    assert shop.draft().code == "PO260302-2"


@pytest.mark.parametrize("packs", [0, 1_000_001])
def test_packs_nobody_orders_are_refused(packs):
    shop = market()
    with refused("packs-out-of-range"):
        shop.draft(shop.line(packs=packs))


def test_an_order_of_nothing_and_one_line_twice_are_refused():
    shop = market()
    with refused("order-without-lines"):
        draft_order(by=shop.by, supplier=shop.supplier, on=ON, lines=[])
    with refused("order-line-twice"):
        shop.draft(shop.line(), shop.line(packs=1))


def test_an_offer_is_ordered_from_whose_it_is():
    shop = market()
    other = write_supplier(by=shop.by, code="OTHER", name="Another")
    with refused("offer-of-another-supplier"):
        draft_order(by=shop.by, supplier=other, on=ON, lines=[shop.line()])


def test_two_people_cannot_both_change_a_draft():
    shop = market()
    order = shop.draft()
    change_draft(by=shop.by, order=order, expected=1, lines=[shop.line(packs=2)])
    with refused("changed-by-someone-else"):
        change_draft(by=shop.by, order=order, expected=1, lines=[shop.line(packs=3)])


def test_an_order_that_was_sent_is_no_draft_any_more():
    shop = market()
    order = shop.sent()
    assert (order.state, order.ordered_on) == (OrderState.SENT, ON)
    with refused("order-not-draft"):
        change_draft(by=shop.by, order=order, expected=order.version, lines=[shop.line()])
    with refused("order-not-draft"):
        send_order(by=shop.by, order=order, expected=order.version, on=ON)


def test_nothing_is_sent_that_was_due_before():
    shop = market()
    order = shop.draft(shop.line(due_on=DUE))
    with refused("order-due-before-ordered"):
        send_order(by=shop.by, order=order, expected=order.version, on=DUE + timedelta(days=1))


def test_an_order_is_given_up_with_a_reason_while_nothing_has_come():
    shop = market()
    order = shop.sent()
    with refused("reason-missing"):
        cancel_order(by=shop.by, order=order, expected=order.version, reason=" ")
    cancel_order(by=shop.by, order=order, expected=order.version, reason="ordered twice")
    assert (order.state, order.note) == (OrderState.CANCELLED, "ordered twice")
    with refused("order-is-over"):
        cancel_order(by=shop.by, order=order, expected=order.version, reason="again")


def test_an_order_of_which_some_has_come_is_not_cancelled():
    shop = market()
    order = shop.sent()
    shop.received(order, shop.arrived(order, SACK))
    with refused("order-already-received"):
        cancel_order(by=shop.by, order=order, expected=order.version, reason="too late")


def test_an_order_is_closed_when_the_rest_will_not_come_and_opened_when_it_will():
    shop = market()
    order = shop.sent(shop.line(), shop.line(offer=shop.sugar))
    lines = [line.pk for line in order.lines.all()]
    end_lines(by=shop.by, order=order, expected=order.version, line_ids=lines[:1], ended=True)
    assert order.state == OrderState.SENT
    end_lines(by=shop.by, order=order, expected=order.version, line_ids=lines[1:], ended=True)
    assert order.state == OrderState.CLOSED
    end_lines(by=shop.by, order=order, expected=order.version, line_ids=lines[:1], ended=False)
    assert order.state == OrderState.SENT


def contract(shop, quantity: int) -> Contract:
    return Contract.objects.create(
        code="C-26",
        offer=shop.malt,
        quantity=quantity,
        from_on=ON,
        until_on=DUE + timedelta(days=30),
    )


def test_no_more_is_called_off_than_a_contract_holds():
    shop = market()
    agreed = contract(shop, 6 * SACK)
    shop.sent(shop.line(packs=4, contract=agreed))
    with refused("contract-exhausted") as caught:
        shop.draft(shop.line(packs=3, contract=agreed))
    assert "still holds 50.000 kg" in caught.value.what.replace("\N{NO-BREAK SPACE}", " ")
    shop.draft(shop.line(packs=2, contract=agreed))
    assert shop.draft(shop.line(packs=1, contract=agreed)).lines.get().quantity == SACK


def test_nothing_is_called_off_after_a_contract_has_ended():
    shop = market()
    agreed = contract(shop, 6 * SACK)
    with refused("contract-not-open"):
        shop.draft(shop.line(contract=agreed, due_on=DUE + timedelta(days=31)))
