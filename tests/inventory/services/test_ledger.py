"""Postings: whole or not at all, once, and reversed at most once."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.utils import timezone

from boxwort.roles import Role
from inventory.models import (
    Balance,
    Conversion,
    ConversionState,
    LotStock,
    Move,
    PlaceKind,
    Posting,
    PostingKind,
)
from inventory.models.fixed import fixed_place
from inventory.queries.verify import stock_differences
from inventory.services.conversions import complete_conversion, give_back
from inventory.services.ledger import MoveAsked, post_moves, reverse_posting
from inventory.services.lots import count_lot, hold_lot, move_lot, scrap_lot
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def lot(db):
    return make.lot("MALT-1", 1000)


@pytest.fixture
def _long_after(monkeypatch):
    """Let it be a day on which the lot has expired."""
    today = make.BEST_BEFORE_ON + timedelta(days=60)
    monkeypatch.setattr("django.utils.timezone.localdate", lambda: today)


def _sent(lot, quantity, **facts):
    wanted = {"kind": PostingKind.DISPATCH, "occurred_on": make.TODAY, "key": make.key(), **facts}
    move = MoveAsked(
        lot_id=lot.pk,
        quantity=quantity,
        from_place_id=make.place().pk,
        to_place_id=fixed_place(PlaceKind.CUSTOMER).pk,
    )
    return post_moves(by=make.user(), moves=[move], **wanted)


def _reversed(posting, **facts):
    wanted = {"key": make.key(), "reason": "a slip", "work": posting.conversion, **facts}
    return reverse_posting(by=make.user(), posting=posting, **wanted)


def _receipt(lot):
    return Posting.objects.filter(moves__lot=lot).earliest("pk")


def test_shipping_takes_from_storage_and_adds_to_the_customer(lot):
    _sent(lot, 400)
    assert Balance.objects.get(lot=lot, place=make.place()).quantity == 600
    assert Balance.objects.get(lot=lot, place__kind=PlaceKind.CUSTOMER).quantity == 400
    assert LotStock.objects.get(lot=lot).on_hand == 600


def test_more_than_lies_there_is_refused_with_the_figures(lot):
    with make.refused("not-enough-on-hand") as caught:
        _sent(lot, 1001)
    assert "holds 1.0 g of lot MALT-1" in caught.value.what
    assert "1.001 g" in caught.value.what
    assert caught.value.details["held"] == 1000
    assert not Move.objects.filter(to_place__kind=PlaceKind.CUSTOMER).exists()


def test_what_is_reserved_for_other_work_does_not_ship(lot):
    make.reservation(make.conversion(), lot, 700)
    with make.refused("not-enough-available") as caught:
        _sent(lot, 301)
    assert caught.value.details["available"] == 300
    _sent(lot, 300)


@pytest.mark.usefixtures("_long_after")
def test_a_lot_ships_on_its_best_before_day_and_not_the_day_after(lot):
    _sent(lot, 1, occurred_on=make.BEST_BEFORE_ON)
    with make.refused("lot-expired"):
        _sent(lot, 1, occurred_on=make.BEST_BEFORE_ON + timedelta(days=1))


def test_nothing_moves_before_its_receipt(lot):
    with make.refused("lot-not-yet-received"):
        _sent(lot, 1, occurred_on=make.RECEIVED_ON - timedelta(days=1))


def test_a_lot_on_hold_moves_about_and_is_not_used(lot):
    hold_lot(by=make.user(), lot=lot, expected=1, reason="smells odd")
    with make.refused("lot-not-released"):
        _sent(lot, 1)
    move_lot(
        by=make.user(),
        lot=lot,
        quantity=1000,
        from_place=make.place(),
        to_place=make.place("CAGE"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    assert Balance.objects.get(lot=lot, place__code="CAGE").quantity == 1000


@pytest.mark.parametrize(
    ("kind", "end"),
    [
        (PostingKind.TRANSFER, PlaceKind.WASTE),
        (PostingKind.DISPATCH, PlaceKind.WASTE),
        (PostingKind.RECEIPT, PlaceKind.CUSTOMER),
    ],
)
def test_stock_goes_only_where_its_reason_takes_it(lot, kind, end):
    move = MoveAsked(
        lot_id=lot.pk,
        quantity=1,
        from_place_id=make.place().pk,
        to_place_id=fixed_place(end).pk,
    )
    with make.refused("place-of-wrong-kind"):
        post_moves(by=make.user(), kind=kind, occurred_on=make.TODAY, moves=[move], key=make.key())


@pytest.mark.parametrize(
    ("wrong", "code"), [("lot_id", "lot-not-known"), ("to_place_id", "place-not-known")]
)
def test_what_does_not_exist_is_named(lot, wrong, code):
    there = {
        "lot_id": lot.pk,
        "quantity": 1,
        "from_place_id": make.place().pk,
        "to_place_id": fixed_place(PlaceKind.CUSTOMER).pk,
    }
    with make.refused(code):
        post_moves(
            by=make.user(),
            kind=PostingKind.DISPATCH,
            occurred_on=make.TODAY,
            moves=[MoveAsked(**{**there, wrong: 987_654})],
            key=make.key(),
        )


def test_the_same_key_posts_once(lot):
    key = make.key()
    assert _sent(lot, 100, key=key) == _sent(lot, 100, key=key)
    assert LotStock.objects.get(lot=lot).on_hand == 900


def test_the_same_key_for_something_else_is_refused(lot):
    key = make.key()
    _sent(lot, 100, key=key)
    for other in ({"quantity": 101}, {"quantity": 100, "reason": "gift"}):
        with make.refused("key-used-for-another-posting"):
            _sent(lot, key=key, **other)
    with make.refused("key-used-for-another-posting"):
        move_lot(
            by=make.user(),
            lot=lot,
            quantity=100,
            from_place=make.place(),
            to_place=make.place("CAGE"),
            occurred_on=make.TODAY,
            key=key,
        )


def test_two_people_may_use_the_same_key(lot):
    key = make.key()
    for person in (make.user(), make.user(Role.PACKER)):
        scrap_lot(
            by=person,
            lot=lot,
            place=make.place(),
            quantity=100,
            occurred_on=make.TODAY,
            key=key,
            reason="torn bag",
        )
    assert LotStock.objects.get(lot=lot).on_hand == 800


@pytest.mark.parametrize("key", ["", "k" * 81])
def test_a_key_has_1_to_80_characters(lot, key):
    with make.refused("key-not-valid"):
        _sent(lot, 1, key=key)


def test_a_reversal_is_not_posted_by_hand(lot):
    with make.refused("word-not-known"):
        _sent(lot, 1, kind=PostingKind.REVERSAL)


def test_a_posting_without_moves_is_refused(db):
    with make.refused("nothing-to-post"):
        post_moves(
            by=make.user(),
            kind=PostingKind.DISPATCH,
            occurred_on=make.TODAY,
            moves=[],
            key=make.key(),
        )


def test_a_reversal_undoes_a_posting_on_its_day(lot):
    posting = _sent(lot, 400)
    reversal = _reversed(posting)
    assert reversal.reverses == posting
    assert reversal.occurred_on == posting.occurred_on
    assert LotStock.objects.get(lot=lot).on_hand == 1000


@pytest.mark.usefixtures("_long_after")
def test_a_reversal_asks_neither_date_nor_status(lot):
    posting = _sent(lot, 400)
    hold_lot(by=make.user(), lot=lot, expected=1)
    _reversed(posting, occurred_on=make.BEST_BEFORE_ON + timedelta(days=30))
    assert LotStock.objects.get(lot=lot).on_hand == 1000


def test_a_posting_is_reversed_once(lot):
    posting = _sent(lot, 400)
    key = make.key()
    assert _reversed(posting, key=key) == _reversed(posting, key=key)
    with make.refused("posting-already-reversed"):
        _reversed(posting)


def test_a_reversal_is_not_reversed(lot):
    reversal = _reversed(_sent(lot, 400))
    with make.refused("posting-is-a-reversal"):
        _reversed(reversal)


def test_a_reversal_does_not_come_before_its_posting(lot):
    posting = _sent(lot, 400)
    with make.refused("reversal-before-posting"):
        _reversed(posting, occurred_on=make.TODAY - timedelta(days=1))


def test_a_receipt_is_taken_back_only_while_nothing_was_done_with_it(lot):
    work = make.conversion()
    make.reservation(work, lot, 10)
    with make.refused("output-reserved"):
        _reversed(_receipt(lot))
    other = make.lot("MALT-2", 10)
    gone = _sent(other, 5)
    with make.refused("output-used"):
        _reversed(_receipt(other))
    _reversed(gone)
    _reversed(_receipt(other))
    assert LotStock.objects.get(lot=other).on_hand == 0


def test_a_receipt_is_taken_back_from_the_place_it_came_to(lot):
    cage = make.place("CAGE")
    move = move_lot(
        by=make.user(),
        lot=lot,
        quantity=1000,
        from_place=make.place(),
        to_place=cage,
        occurred_on=make.TODAY,
        key=make.key(),
    )
    with make.refused("output-carried-away"):
        _reversed(_receipt(lot))
    _reversed(move)
    _reversed(_receipt(lot))


def test_undoing_finished_work_gives_back_what_it_used_and_cancels_it(lot):
    work = make.conversion()
    kits = complete_conversion(
        by=make.user(),
        conversion=work,
        used=[make.used(lot, 400)],
        output=make.output("KITS-1"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    posting = work.postings.get()
    reservation = make.reservation(make.conversion("NEXT"), kits, 1)
    with make.refused("output-reserved"):
        _reversed(posting)
    give_back(by=make.user(), conversion=reservation.conversion)
    _reversed(posting)
    assert LotStock.objects.get(lot=lot).on_hand == 1000
    assert LotStock.objects.get(lot=kits).on_hand == 0
    assert Conversion.objects.get(pk=work.pk).state == ConversionState.CANCELLED
    assert stock_differences() == []


def test_kits_that_have_shipped_cannot_be_unmade(lot):
    work = make.conversion()
    kits = complete_conversion(
        by=make.user(),
        conversion=work,
        used=[make.used(lot, 400)],
        output=make.output("KITS-1"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    _sent(kits, 1)
    with make.refused("output-used"):
        _reversed(work.postings.get())


def test_a_count_that_agreed_has_nothing_to_reverse(lot):
    posting = count_lot(
        by=make.user(),
        lot=lot,
        place=make.place(),
        counted=1000,
        occurred_on=make.TODAY,
        key=make.key(),
        reason="weekly",
    )
    with make.refused("nothing-to-reverse"):
        _reversed(posting)


def test_a_refused_posting_leaves_nothing_behind_and_its_key_free(lot):
    before, key = Posting.objects.count(), make.key()
    with make.refused("not-enough-on-hand"):
        _sent(lot, 5000, key=key)
    assert Posting.objects.count() == before
    _sent(lot, 1, key=key)


def test_finished_work_is_undone_only_by_whoever_names_it(lot):
    work = make.conversion()
    make.reservation(work, lot, 200)
    made = complete_conversion(
        by=make.user(),
        conversion=work,
        used=[make.used(lot, 200)],
        output=make.output("KITS-1"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    posting = Posting.objects.get(moves__lot=made)
    with make.refused("posting-of-work"):
        _reversed(posting, work=None)
    assert not Posting.objects.filter(reverses=posting).exists()


def test_nothing_is_posted_for_a_day_to_come(lot):
    tomorrow = timezone.localdate() + timedelta(days=1)
    with make.refused("date-to-come"):
        _sent(lot, 10, occurred_on=tomorrow)
