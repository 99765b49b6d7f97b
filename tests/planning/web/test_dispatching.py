"""The dispatch board, the pick list of an order, and what is shown of a dispatch."""

from __future__ import annotations

import re
from datetime import timedelta
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from inventory.models import Lot, LotStock
from planning.models import CustomerOrder, Dispatch, DispatchZone
from planning.queries.dispatch_choices import dispatch_choice
from tests.make import key
from tests.planning.dispatching import kits, line, one_order, send, shop, yeast
from tests.planning.make import TODAY, Store
from tests.planning.web.asking import send as post
from tests.planning.web.asking import statements, text_of


@pytest.fixture
def made(db: None) -> Store:
    """Return a store with ten kits and yeast for them, an order of four, and a place to look."""
    found = shop()
    kits(found, 10, "KITS-A")
    yeast(found, 60, "YEAST-A")
    return found


@pytest.fixture
def order(made: Store) -> CustomerOrder:
    return one_order(made, 4)


def filled(order: CustomerOrder, **changed: Any) -> dict[str, Any]:
    """Return the form as it is proposed, with what was changed in it by lot code."""
    form: dict[str, Any] = {"version": order.version, "shipped_on": TODAY.isoformat()}
    for each in dispatch_choice(order.pk, TODAY).lines:
        for row in each.rows:
            for offer in row.offers:
                name = f"pick_{each.line.pk}_{row.key}_{offer.lot.pk}"
                form[name] = changed.get(offer.lot.code, offer.boxes)
    return form


def test_the_board_says_what_is_ready_and_what_lacks(
    made: Store, order: CustomerOrder, packer: Client
) -> None:
    line(one_order(made, 20), 900, item=made.goods.box)
    text = text_of(packer, "dispatch-board")
    assert "4 of 4" in text
    assert "6 of 20" in text
    assert "14 kits of Kit-Pale" in text
    assert reverse("order-dispatch", args=[order.pk]) in text


def test_an_empty_board_says_so(db: None, packer: Client) -> None:
    assert "No order waits to leave" in text_of(packer, "dispatch-board")
    assert "Nothing has left yet" in text_of(packer, "dispatch-list")


def test_the_pick_list_has_kits_first_and_yeast_last(order: CustomerOrder, packer: Client) -> None:
    text = text_of(packer, "order-dispatch", order.pk)
    assert text.index("KITS-A") < text.index("Yeast, picked last") < text.rindex("YEAST-A")
    lot = Lot.objects.get(code="KITS-A")
    assert re.search(rf'name="pick_{order.lines.get().pk}_kit_{lot.pk}" value="4"', text)


def test_what_is_proposed_leaves_with_one_press(order: CustomerOrder, packer: Client) -> None:
    answer = post(packer, "order-dispatch", order.pk, form=filled(order))
    assert answer.status_code == 303, answer.content.decode()
    dispatch = Dispatch.objects.get()
    assert answer.url == reverse("dispatch-detail", args=[dispatch.pk])
    text = text_of(packer, "dispatch-detail", dispatch.pk)
    for said in ("KITS-A", "YEAST-A", "Best pitched by", "barley", "Over-priming bursts bottles"):
        assert said in text
    assert LotStock.objects.get(lot__code="KITS-A").on_hand == 6


def test_fewer_boxes_leave_where_fewer_are_picked(order: CustomerOrder, packer: Client) -> None:
    form = filled(order, **{"KITS-A": 3, "YEAST-A": 3})
    assert post(packer, "order-dispatch", order.pk, form=form).status_code == 303
    assert order.lines.get().dispatched == 3
    text = text_of(packer, "dispatch-detail", Dispatch.objects.get().pk)
    assert "Send the rest" in text


def test_picks_that_do_not_fit_come_back_with_what_was_typed(
    order: CustomerOrder, packer: Client
) -> None:
    answer = post(packer, "order-dispatch", order.pk, form=filled(order, **{"KITS-A": 3}))
    assert answer.status_code == 422
    assert "Pick it for as many boxes as leave." in answer.content.decode()
    answer = post(packer, "order-dispatch", order.pk, form=filled(order, **{"KITS-A": "three"}))
    assert answer.status_code == 422
    assert "Enter a whole number" in answer.content.decode()
    assert not Dispatch.objects.exists()


def test_pressing_twice_sends_once(order: CustomerOrder, packer: Client) -> None:
    form, once = filled(order), key()
    for _ in range(2):
        answer = post(packer, "order-dispatch", order.pk, form=form, key=once)
        assert answer.status_code == 303, answer.content.decode()
    assert Dispatch.objects.count() == 1


def test_another_day_shows_what_would_leave_then_and_cannot_be_written_down_yet(
    order: CustomerOrder, packer: Client
) -> None:
    later = TODAY + timedelta(days=3)
    answer = packer.get(reverse("order-dispatch", args=[order.pk]), {"on": later.isoformat()})
    text = answer.content.decode()
    assert "It is written down on the day itself" in text
    assert 'id="record-dispatch"' not in text
    form = filled(order) | {"shipped_on": later.isoformat()}
    answer = post(packer, "order-dispatch", order.pk, form=form)
    assert answer.status_code == 422
    assert "Give the day it happened" in answer.content.decode()


def test_a_day_on_which_the_zone_does_not_ship_offers_the_next(
    order: CustomerOrder, packer: Client
) -> None:
    DispatchZone.objects.filter(orders=order).update(ship_weekdays="3")
    text = text_of(packer, "order-dispatch", order.pk)
    assert 'href="?on=2026-03-05"' in text
    assert 'id="record-dispatch"' not in text


def test_a_dispatch_is_undone_with_a_reason(
    made: Store, order: CustomerOrder, packer: Client
) -> None:
    dispatch = send(made, order)
    assert "Why it is undone" in text_of(packer, "dispatch-undo", dispatch.pk)
    form = {"version": 1, "reason": "the wrong order"}
    assert post(packer, "dispatch-undo", dispatch.pk, form=form).status_code == 303
    assert "taken back" in text_of(packer, "dispatch-detail", dispatch.pk)
    assert LotStock.objects.get(lot__code="KITS-A").on_hand == 10
    assert "Undone" in text_of(packer, "dispatch-list")


def test_an_order_that_has_left_is_not_picked_again(
    made: Store, order: CustomerOrder, packer: Client
) -> None:
    send(made, order)
    answer = packer.get(reverse("order-dispatch", args=[order.pk]))
    assert answer.status_code == 422
    assert "Only what is open can be dispatched" in answer.content.decode()


def test_the_move_of_a_lot_leads_to_its_dispatch(
    made: Store, order: CustomerOrder, packer: Client
) -> None:
    dispatch = send(made, order)
    text = text_of(packer, "lot-detail", Lot.objects.get(code="KITS-A").pk)
    assert "Order C-1 to Alder and Ash" in text
    link = reverse("dispatch-named", args=[dispatch.code])
    assert link in text
    assert packer.get(link).url == reverse("dispatch-detail", args=[dispatch.pk])


def test_the_pick_list_takes_the_same_statements_for_one_line_and_for_many(
    made: Store, order: CustomerOrder, packer: Client
) -> None:
    line(order, 3, item=made.goods.box)
    before = statements(packer, "order-dispatch", order.pk)
    for _ in range(4):
        line(order, 1, kit=made.kit)
    assert statements(packer, "order-dispatch", order.pk) == before
