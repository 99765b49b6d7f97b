"""What leaves for a customer: once, whole, out of the places that hold it, and back again."""

from datetime import timedelta

import pytest

from inventory.models import ConversionKind, ConversionState, LotStock, PlaceKind, PostingKind
from inventory.models.fixed import fixed_place
from inventory.queries.verify import stock_differences
from inventory.services.ledger import MoveAsked, post_moves
from inventory.services.lots import hold_lot
from inventory.services.shipping import return_shipment, ship_lots
from tests.make import (
    BEST_BEFORE_ON,
    TODAY,
    conversion,
    key,
    lot,
    place,
    refused,
    reservation,
    used,
    user,
)

pytestmark = pytest.mark.django_db


def ship(of, quantity, **facts):
    known = {"occurred_on": TODAY, "reason": "Order C-1", "key": key()} | facts
    return ship_lots(by=user(), used=[used(of, quantity)], **known)


def on_hand(of):
    return LotStock.objects.get(lot=of).on_hand


def test_what_leaves_is_taken_from_every_place_that_holds_it():
    malt = lot(quantity=100)
    store, room = place(), place("ROOM")
    moved = MoveAsked(lot_id=malt.pk, quantity=40, from_place_id=store.pk, to_place_id=room.pk)
    post_moves(by=user(), kind=PostingKind.TRANSFER, occurred_on=TODAY, moves=[moved], key=key())
    work = ship(malt, 70)
    assert (work.kind, work.state) == (ConversionKind.DISPATCH, ConversionState.DONE)
    moves = work.postings.get().moves
    assert sorted(moves.values_list("quantity", flat=True)) in ([10, 60], [30, 40])
    assert set(moves.values_list("to_place", flat=True)) == {fixed_place(PlaceKind.CUSTOMER).pk}
    assert on_hand(malt) == 30
    assert stock_differences() == []


def test_asked_again_with_the_same_key_it_leaves_once():
    malt, once = lot(quantity=100), key()
    assert ship(malt, 70, key=once) == ship(malt, 70, key=once)
    assert on_hand(malt) == 30
    with refused("key-used-for-another-posting"):
        ship(malt, 20, key=once)


def test_what_is_reserved_held_or_expired_does_not_leave():
    malt = lot(quantity=100)
    reservation(conversion(), malt, 60)
    with refused("not-enough-available"):
        ship(malt, 70)
    with refused("lot-expired"):
        ship(lot(quantity=10, best_before_on=TODAY - timedelta(days=1)), 5)
    hold_lot(by=user(), lot=malt, expected=malt.version, reason="damp")
    with refused("lot-not-released"):
        ship(malt, 10)
    assert malt.best_before_on == BEST_BEFORE_ON


def test_a_dispatch_comes_back_whole_and_once():
    malt = lot(quantity=100)
    work = ship(malt, 70)
    with refused("reason-missing"):
        return_shipment(by=user(), conversion=work, key=key(), reason="")
    return_shipment(by=user(), conversion=work, key=key(), reason="another order")
    work.refresh_from_db()
    assert (work.state, on_hand(malt)) == (ConversionState.CANCELLED, 100)
    assert stock_differences() == []
    with refused("posting-already-reversed"):
        return_shipment(by=user(), conversion=work, key=key(), reason="again")


def test_other_work_is_not_taken_back_as_a_dispatch():
    with refused("not-a-dispatch"):
        return_shipment(by=user(), conversion=conversion(), key=key(), reason="no")
