"""Lots: received, judged, counted and scrapped."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxwort.accounts.models import History
from boxwort.accounts.queries import history_of
from inventory import events
from inventory.models import (
    Balance,
    Ending,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    PlaceKind,
    Posting,
    PostingKind,
    Reservation,
)
from inventory.models.fixed import fixed_place
from inventory.services.lots import count_lot, hold_lot, reject_lot, release_lot, scrap_lot
from tests import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def heard():
    """Return what other apps heard, in order."""
    told = []

    def hear(signal, **facts):
        told.append({name: value for name, value in facts.items() if name != "sender"})

    signals = (events.lot_released, events.reservations_lost)
    for signal in signals:
        signal.connect(hear)
    yield told
    for signal in signals:
        signal.disconnect(hear)


def _counted(lot, counted, **facts):
    wanted = {"place": make.place(), "key": make.key(), "reason": "weekly count", **facts}
    return count_lot(by=make.user(), lot=lot, counted=counted, occurred_on=make.TODAY, **wanted)


def _scrapped(lot, quantity, **facts):
    wanted = {"place": make.place(), "key": make.key(), "reason": "torn bag", **facts}
    return scrap_lot(by=make.user(), lot=lot, quantity=quantity, occurred_on=make.TODAY, **wanted)


def _endings(work):
    rows = Reservation.objects.filter(conversion=work).order_by("line")
    return dict(rows.values_list("line", "ending"))


def test_a_received_lot_is_on_hand_in_quarantine_with_its_cost():
    lot = make.lot("MALT-1", 25_000_000, status=LotStatus.QUARANTINE, cost_amount=412_500)
    assert lot.status == LotStatus.QUARANTINE
    assert (lot.cost_amount, lot.cost_quantity) == (412_500, 25_000_000)
    assert LotStock.objects.get(lot=lot).on_hand == 25_000_000
    assert Balance.objects.get(lot=lot, place__kind=PlaceKind.SUPPLIER).quantity == -25_000_000
    assert [row.action for row in history_of("inventory.lot", lot.pk)] == ["received"]


def test_the_same_receipt_twice_is_one_lot():
    key = make.key()
    assert make.lot("MALT-1", 500, key=key) == make.lot("MALT-1", 500, key=key)
    assert LotStock.objects.get(lot__code="MALT-1").on_hand == 500
    with make.refused("key-used-for-another-posting"):
        make.lot("MALT-1", 501, key=key)


def test_opening_stock_is_told_from_a_receipt():
    lot = make.lot(kind=PostingKind.OPENING)
    assert Posting.objects.get(moves__lot=lot).kind == PostingKind.OPENING


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"code": "malt 1"}, "code-not-valid"),
        ({"code": "M" * 21}, "code-not-valid"),
        ({"code": "MALT-1\n"}, "code-not-valid"),
        ({"quantity": 0}, "quantity-not-positive"),
        ({"quantity": -5}, "quantity-not-positive"),
        ({"packing": "paper"}, "word-not-known"),
        ({"status": LotStatus.REJECTED}, "word-not-known"),
        ({"kind": PostingKind.COUNT}, "word-not-known"),
        ({"cost_amount": -1}, "quantity-negative"),
        ({"supplier_lot": "x" * 41}, "text-too-long"),
        (
            {"packaged_on": date(2026, 1, 2), "best_before_on": date(2026, 1, 1)},
            "best-before-before-packaging",
        ),
        ({"packaged_on": make.RECEIVED_ON + timedelta(days=1)}, "packaged-after-receipt"),
    ],
)
def test_a_receipt_that_cannot_be_is_refused_with_a_remedy(facts, code):
    with make.refused(code) as caught:
        make.lot(**{"code": "MALT-1", **facts})
    assert caught.value.remedy
    assert not Lot.objects.exists()


def test_a_lot_code_is_given_once():
    make.lot("MALT-1")
    with make.refused("lot-code-taken"):
        make.lot("MALT-1")


def test_a_lot_is_received_into_storage_only():
    with make.refused("place-of-wrong-kind"):
        make.lot(place=fixed_place(PlaceKind.WASTE))


def test_a_released_lot_is_told_to_other_apps(heard):
    lot = make.lot(status=LotStatus.QUARANTINE)
    released = release_lot(by=make.user(), lot=lot, expected=lot.version, reason="papers fit")
    assert (released.status, released.version) == (LotStatus.RELEASED, 2)
    assert heard == [{"lot_id": lot.pk, "by": make.user()}]


def test_receiving_a_lot_already_released_tells_nobody(heard):
    make.lot()
    assert heard == []


def test_two_people_judge_a_lot_and_the_second_is_told():
    lot = make.lot()
    hold_lot(by=make.user(), lot=lot, expected=1)
    with make.refused("changed-by-someone-else"):
        reject_lot(by=make.user(), lot=lot, expected=1)


def test_a_rejected_lot_stays_rejected():
    lot = reject_lot(by=make.user(), lot=make.lot(), expected=1, reason="mouldy")
    with make.refused("lot-status-final"):
        release_lot(by=make.user(), lot=lot, expected=2)


def test_a_released_lot_is_not_released_again():
    with make.refused("lot-status-unchanged"):
        release_lot(by=make.user(), lot=make.lot(), expected=1)


def test_a_lot_on_hold_keeps_its_reservations():
    lot, work = make.lot(), make.conversion()
    make.reservation(work, lot, 300)
    hold_lot(by=make.user(), lot=lot, expected=1)
    assert LotStock.objects.get(lot=lot).reserved == 300


def test_rejecting_a_lot_ends_all_its_reservations_and_leaves_it_on_hand(heard):
    lot, work = make.lot("MALT-1", 1000), make.conversion()
    make.reservation(work, lot, 300)
    make.reservation(work, lot, 200, line="2")
    reject_lot(by=make.user(), lot=lot, expected=1, reason="mouldy")
    stock = LotStock.objects.get(lot=lot)
    assert (stock.on_hand, stock.reserved) == (1000, 0)
    assert set(_endings(work).values()) == {Ending.LOST}
    assert heard == [{"conversion_ids": [work.pk], "lot_id": lot.pk, "by": make.user()}]
    _scrapped(lot, 1000)
    assert LotStock.objects.get(lot=lot).on_hand == 0


def test_a_count_puts_the_books_right_both_ways():
    lot = make.lot("MALT-1", 1000)
    _counted(lot, 940)
    assert LotStock.objects.get(lot=lot).on_hand == 940
    _counted(lot, 950)
    assert LotStock.objects.get(lot=lot).on_hand == 950
    assert Balance.objects.get(lot=lot, place__kind=PlaceKind.CORRECTION).quantity == 50


def test_a_count_that_agrees_is_kept_without_moves():
    posting = _counted(make.lot("MALT-1", 1000), 1000)
    assert posting.kind == PostingKind.COUNT
    assert not posting.moves.exists()


def test_a_count_repeated_with_its_key_does_not_count_again():
    lot, key = make.lot("MALT-1", 1000), make.key()
    first = _counted(lot, 900, key=key)
    _scrapped(lot, 100)
    assert _counted(lot, 900, key=key) == first
    assert LotStock.objects.get(lot=lot).on_hand == 800


def test_a_short_count_takes_from_the_latest_need_first(heard):
    lot, work = make.lot("MALT-1", 1000), make.conversion()
    for line, in_days in (("soon", 3), ("later", 20), ("last", 30)):
        make.reservation(work, lot, 300, line=line, in_days=in_days)
    _counted(lot, 550)
    assert _endings(work) == {"soon": "", "later": Ending.LOST, "last": Ending.LOST}
    stock = LotStock.objects.get(lot=lot)
    assert (stock.on_hand, stock.reserved) == (550, 300)
    assert heard == [{"conversion_ids": [work.pk], "lot_id": lot.pk, "by": make.user()}]
    lost = History.objects.get(action="lost-reservations")
    assert [row["line"] for row in lost.before["reservations"]] == ["last", "later"]


def test_of_two_needs_on_one_day_the_younger_reservation_goes():
    lot, work = make.lot("MALT-1", 1000), make.conversion()
    for line in ("first", "second"):
        make.reservation(work, lot, 500, line=line)
    _counted(lot, 999)
    assert _endings(work) == {"first": "", "second": Ending.LOST}


def test_a_short_count_in_one_place_counts_what_lies_in_others():
    lot, work = make.lot("MALT-1", 1000), make.conversion()
    make.reservation(work, lot, 400)
    _counted(lot, 100, place=make.place("CAGE"))
    _counted(lot, 350)
    assert _endings(work) == {"1": ""}
    _counted(lot, 299)
    assert _endings(work) == {"1": Ending.LOST}


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"counted": -1}, "quantity-negative"),
        ({"reason": "  "}, "reason-missing"),
        ({"reason": "x" * 201}, "text-too-long"),
    ],
)
def test_a_count_that_cannot_be_is_refused(facts, code):
    with make.refused(code):
        _counted(make.lot(), **{"counted": 5, **facts})


def test_nothing_is_counted_outside_storage():
    with make.refused("place-of-wrong-kind"):
        _counted(make.lot(), 5, place=fixed_place(PlaceKind.CUSTOMER))


def test_reserved_stock_is_not_thrown_away():
    lot = make.lot("MALT-1", 1000)
    make.reservation(make.conversion(), lot, 700)
    with make.refused("not-enough-available"):
        _scrapped(lot, 301)
    _scrapped(lot, 300, kind=PostingKind.SAMPLE)
    assert LotStock.objects.get(lot=lot).on_hand == 700


def test_throwing_away_needs_a_reason():
    with make.refused("reason-missing"):
        _scrapped(make.lot(), 1, reason="")


def test_text_that_looks_like_a_formula_is_kept_as_text():
    lot = make.lot(supplier_lot="=1+1")
    _scrapped(lot, 1, reason="@SUM(A1)")
    assert Lot.objects.get(pk=lot.pk).supplier_lot == "=1+1"
    assert Posting.objects.latest("pk").reason == "@SUM(A1)"


def test_only_a_hop_has_a_form_of_its_own():
    hop = make.item("FUG", ItemKind.HOP)
    assert make.lot("FUG-1", item=hop, form="cone").form == "cone"
    with make.refused("form-of-hops-only"):
        make.lot("PALE-1", form="cone")
    with make.refused("word-not-known"):
        make.lot("FUG-2", item=hop, form="dust")
