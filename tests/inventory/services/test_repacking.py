"""One lot becomes another: repacked, milled, decanted."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory import events
from inventory.models import (
    Conversion,
    ConversionState,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    Move,
    PlaceKind,
)
from inventory.queries.verify import stock_differences
from inventory.services.lots import hold_lot
from tests import make
from tests.inventory.works import decanted, hop, keeps, milled, on_hand, packed, repacked

pytestmark = pytest.mark.django_db

IN_A_MONTH = make.TODAY + timedelta(days=30)


def _new() -> Lot:
    return Lot.objects.get(code="NEW-1")


def test_a_repack_takes_makes_and_loses_to_the_last_milligram():
    lot = hop(quantity=5000)
    work = repacked(lot, 1000, 950, packing="barrier", reason="dust")
    assert (on_hand("FUG-1"), on_hand("NEW-1")) == (4000, 950)
    moves = Move.objects.filter(posting=work.postings.get())
    assert {
        (move.lot.code, move.from_place.kind, move.to_place.kind): move.quantity for move in moves
    } == {
        ("FUG-1", PlaceKind.STORAGE, PlaceKind.PRODUCTION): 950,
        ("FUG-1", PlaceKind.STORAGE, PlaceKind.WASTE): 50,
        ("NEW-1", PlaceKind.PRODUCTION, PlaceKind.STORAGE): 950,
    }
    assert Conversion.objects.get(pk=work.pk).state == ConversionState.DONE
    assert stock_differences() == []


def test_the_new_lot_takes_over_what_is_known_of_the_old_one():
    lot = hop(supplier_lot="S-77", packaged_on=make.RECEIVED_ON)
    work = repacked(lot, 100, 100, packing="barrier")
    new = _new()
    assert (new.from_lot, new.made_by, new.item) == (lot, work, lot.item)
    assert (new.supplier_lot, new.packaged_on) == ("S-77", make.RECEIVED_ON)
    assert (new.best_before_on, new.received_on) == (lot.best_before_on, make.TODAY)
    assert (new.packing, new.status) == ("barrier", LotStatus.RELEASED)
    assert Lot.objects.get(pk=lot.pk).opened_on is None


def test_what_is_left_stays_in_a_lot_that_counts_as_opened():
    fuggle = keeps(make.item("FUG", ItemKind.HOP), opened_days=30)
    lot = hop(quantity=5000, item=fuggle)
    work = repacked(lot, 1000, 600, left=(400, ""), packing="airtight")
    lot.refresh_from_db()
    assert (on_hand("FUG-1"), on_hand("NEW-1")) == (4400, 600)
    assert (lot.opened_on, lot.best_before_on) == (make.TODAY, IN_A_MONTH)
    assert _new().best_before_on == make.BEST_BEFORE_ON
    assert work.opened_lot == lot


def test_what_is_left_goes_back_as_an_opened_lot_of_its_own():
    fuggle = keeps(make.item("FUG", ItemKind.HOP), opened_days=30)
    lot = hop(quantity=5000, item=fuggle, cost_amount=500)
    repacked(lot, 1000, 590, left=(400, "REST-1"), packing="airtight", reason="dust")
    rest = Lot.objects.get(code="REST-1")
    assert (on_hand("FUG-1"), on_hand("NEW-1"), on_hand("REST-1")) == (4000, 590, 400)
    assert (rest.opened_on, rest.best_before_on) == (make.TODAY, IN_A_MONTH)
    assert (rest.packing, rest.from_lot) == ("loose", lot)
    assert Lot.objects.get(pk=lot.pk).opened_on is None
    assert (_new().cost_amount, rest.cost_amount) == (60, 40)
    assert stock_differences() == []


def test_an_opened_life_begins_once():
    fuggle = keeps(make.item("FUG", ItemKind.HOP), opened_days=30)
    lot = hop(quantity=5000, item=fuggle)
    day_before = make.TODAY - timedelta(days=1)
    repacked(lot, 100, 60, left=(40, ""), packing="airtight", on=day_before)
    repacked(lot, 100, 60, left=(40, ""), packing="airtight", code="NEW-2")
    lot.refresh_from_db()
    assert lot.opened_on == day_before


def test_a_lot_that_was_used_since_is_not_opened_so_long_ago():
    fuggle = keeps(make.item("FUG", ItemKind.HOP), opened_days=30)
    lot = hop(quantity=5000, item=fuggle)
    packed((lot, 100), kits=10)
    with make.refused("lot-used-since"):
        repacked(lot, 100, 60, left=(40, ""), packing="loose", on=make.RECEIVED_ON)
    repacked(lot, 100, 60, left=(40, "REST-1"), packing="loose", on=make.RECEIVED_ON)
    assert stock_differences() == []


def test_milled_grain_keeps_no_longer_than_its_crushed_life():
    lot = make.lot("PALE-1", item=keeps(make.item(), crushed_days=30, work_loss=0.02))
    milled(lot, 500, 490)
    new = _new()
    assert (new.crushed_on, new.best_before_on) == (make.TODAY, IN_A_MONTH)
    assert on_hand("NEW-1") == 490


def test_crushing_makes_nothing_keep_longer():
    soon = make.TODAY + timedelta(days=3)
    lot = make.lot("PALE-1", item=keeps(make.item(), crushed_days=30), best_before_on=soon)
    milled(lot, 500, 500)
    assert _new().best_before_on == soon


def test_a_drum_that_is_decanted_counts_as_opened():
    item = keeps(make.item("LME", ItemKind.EXTRACT), opened_days=30)
    lot = make.lot("LME-1", item=item)
    decanted(lot, 1000, 300, left=(700, ""))
    lot.refresh_from_db()
    assert (lot.opened_on, lot.best_before_on) == (make.TODAY, IN_A_MONTH)
    assert _new().best_before_on == make.BEST_BEFORE_ON
    assert (on_hand("LME-1"), on_hand("NEW-1")) == (700, 300)


def test_more_cannot_come_out_than_went_in():
    with make.refused("more-out-than-in") as caught:
        repacked(hop(), 1000, 800, left=(300, ""), packing="loose")
    assert caught.value.details == {"taken": 1000, "made": 800, "left": 300, "lost": -100}
    assert "1.0 g of Fug was taken, 0.8 g was made and 0.3 g is left" in caught.value.what


def test_a_loss_above_what_is_expected_needs_a_reason():
    lot = make.lot("PALE-1", item=keeps(make.item(), work_loss=0.02))
    with make.refused("loss-without-reason") as caught:
        milled(lot, 1000, 979)
    assert caught.value.details == {"lost": 21, "expected": 20}
    milled(lot, 500, 490)
    milled(lot, 500, 400, code="NEW-2", reason="a spilt sack")


def test_the_cost_of_what_is_lost_is_carried_by_what_is_made():
    lot = make.lot("PALE-1", 3, cost_amount=100)
    milled(lot, 2, 1, reason="spilt")
    new = _new()
    assert (new.cost_amount, new.cost_quantity) == (67, 1)


def test_what_is_reserved_is_not_taken():
    lot = make.lot("PALE-1", 1000)
    make.reservation(make.conversion(), lot, 600)
    with make.refused("not-enough-available"):
        milled(lot, 401, 401)
    milled(lot, 400, 400)


def test_a_place_gives_what_lies_in_it():
    lot = make.lot("PALE-1", 1000, place=make.place("COLD"))
    with make.refused("not-enough-on-hand"):
        milled(lot, 10, 10)


@pytest.mark.parametrize("status", [LotStatus.QUARANTINE, LotStatus.REJECTED])
def test_only_released_lots_are_worked_on(status):
    lot = make.lot("PALE-1")
    Lot.objects.filter(pk=lot.pk).update(status=status)
    with make.refused("lot-not-released"):
        milled(lot, 10, 10)


def test_lots_on_hold_or_expired_are_not_worked_on():
    held, old = make.lot("PALE-1"), make.lot("PALE-2", best_before_on=make.RECEIVED_ON)
    hold_lot(by=make.user(), lot=held, expected=1)
    with make.refused("lot-not-released"):
        milled(held, 10, 10)
    with make.refused("lot-expired"):
        milled(old, 10, 10)
    assert not Conversion.objects.exists()


def test_work_fits_what_the_lot_is():
    kits = make.lot("KITS-1", item=make.item("KIT-PALE", ItemKind.KIT))
    yeast = make.lot("ALE-1", item=make.item("ALE", ItemKind.YEAST))
    for act, lot in ((milled, hop()), (decanted, make.lot()), (repacked, kits), (repacked, yeast)):
        with make.refused("work-does-not-fit"):
            act(lot, 10, 10)
    milled(make.lot("PALE-1"), 10, 10)
    with make.refused("work-does-not-fit") as caught:
        milled(_new(), 5, 5, code="NEW-2")
    assert "crushed already" in caught.value.what


def test_hops_are_repacked_in_a_packing_and_nothing_else_is():
    with make.refused("packing-of-hops-only"):
        repacked(hop(), 10, 10)
    with make.refused("packing-of-hops-only"):
        repacked(make.lot("PALE-1"), 10, 10, packing="loose")
    with make.refused("word-not-known"):
        repacked(hop("FUG-2"), 10, 10, packing="paper")


def test_the_same_key_works_once():
    lot, key = hop(quantity=5000), make.key()
    first = repacked(lot, 100, 100, packing="loose", key=key)
    assert repacked(lot, 100, 100, packing="loose", key=key) == first
    assert on_hand("FUG-1") == 4900
    with make.refused("key-used-for-another-posting"):
        repacked(lot, 200, 200, packing="loose", key=key)
    with make.refused("key-used-for-another-posting"):
        milled(make.lot("PALE-1"), 10, 10, code="NEW-2", key=key)


def test_a_key_of_another_posting_does_no_work():
    make.lot("PALE-1", key="receipt")
    with make.refused("key-used-for-another-posting"):
        milled(Lot.objects.get(code="PALE-1"), 10, 10, key="receipt")


def test_works_of_a_day_are_numbered():
    lot = make.lot("PALE-1")
    codes = [milled(lot, 10, 10, code=f"NEW-{n}").code for n in (1, 2)]
    assert codes == ["MILL-260302-1", "MILL-260302-2"]


def test_a_new_lot_is_told_as_a_release():
    heard = []

    def hear(lot_id, by, **_):
        heard.append((Lot.objects.get(pk=lot_id).code, by))

    events.lot_released.connect(hear)
    try:
        repacked(hop(), 100, 50, left=(50, "REST-1"), packing="loose")
    finally:
        events.lot_released.disconnect(hear)
    assert heard == [("NEW-1", make.user()), ("REST-1", make.user())]


def test_nothing_is_posted_when_a_code_is_taken():
    lot = hop()
    with make.refused("lot-code-taken"):
        repacked(lot, 100, 100, packing="loose", code="FUG-1")
    assert LotStock.objects.get(lot=lot).on_hand == 1000
    assert not Conversion.objects.exists()
