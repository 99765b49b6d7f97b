"""Kits are broken down into what they were packed from."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.models import ItemKind, Lot, LotStatus, Move
from inventory.queries.conversions import contents_of
from inventory.queries.verify import stock_differences
from inventory.services.breaking_down import Returned, break_down
from inventory.services.lots import hold_lot
from inventory.services.works import undo_work
from tests import make
from tests.inventory.works import broken_down, hop, on_hand, packed, taken

pytestmark = pytest.mark.django_db


@pytest.fixture
def malt(db):
    return make.lot("PALE-1", 10_000, cost_amount=5000)


@pytest.fixture
def fuggle(db):
    return hop(cost_amount=3000)


@pytest.fixture
def kits(malt, fuggle):
    """Return ten kits of 5005 of malt and 100 of hops."""
    return packed((malt, 5005), (fuggle, 100), kits=10)


def test_each_lot_comes_back_as_a_lot_that_goes_on_from_it(kits, malt, fuggle):
    work = broken_down(kits, 4)
    assert (on_hand("KITS-1"), on_hand("PALE-1-B4"), on_hand("FUG-1-B4")) == (6, 2002, 40)
    back = Lot.objects.get(code="PALE-1-B4")
    assert (back.from_lot, back.made_by, back.item) == (malt, work, malt.item)
    assert (back.best_before_on, back.parted_on) == (malt.best_before_on, kits.received_on)
    assert set(work.outputs.values_list("from_lot", flat=True)) == {malt.pk, fuggle.pk}
    assert stock_differences() == []


def test_all_kits_bit_by_bit_give_back_just_what_was_used(kits):
    for number in (3, 1, 4, 2):
        broken_down(kits, number)
    moves = Move.objects.filter(lot__from_lot__code="PALE-1", from_place__kind="production")
    assert sum(moves.values_list("quantity", flat=True)) == 5005
    assert on_hand("KITS-1") == 0


def test_what_is_taken_back_between_makes_nothing_out_of_rounding():
    kits = packed((make.lot("PALE-1"), 5), kits=10)
    first = broken_down(kits, 3)
    broken_down(kits, 1)
    undo_work(by=make.user(), conversion=first, key=make.key(), reason="wrong kits")
    broken_down(kits, 9)
    assert (on_hand("PALE-1-B1"), on_hand("PALE-1-B9"), on_hand("KITS-1")) == (1, 4, 0)
    assert stock_differences() == []


def test_what_does_not_come_back_is_lost_for_a_reason(kits):
    with make.refused("loss-without-reason"):
        broken_down(kits, 4, {"FUG-1": 30})
    broken_down(kits, 4, {"FUG-1": 30}, reason="a torn pouch")
    lost = Move.objects.get(to_place__kind="waste")
    assert (lost.lot.code, lost.quantity, on_hand("FUG-1-B4")) == ("FUG-1-B4", 10, 30)
    assert stock_differences() == []


def test_a_component_may_be_lost_whole_and_the_rest_carries_the_cost(kits):
    broken_down(kits, 10, {"FUG-1": 0}, reason="left in the sun")
    malt, hops = (Lot.objects.get(code=code) for code in ("PALE-1-B10", "FUG-1-B10"))
    assert (hops.cost_amount, malt.cost_amount) == (0, kits.cost_amount)
    assert on_hand("FUG-1-B10") == 0


def test_the_cost_of_the_kits_is_shared_by_what_each_part_cost(kits):
    broken_down(kits, 10)
    costs = dict(Lot.objects.filter(made_by__kind="break_down").values_list("code", "cost_amount"))
    assert kits.cost_amount == 2803
    assert costs == {"PALE-1-B10": 2503, "FUG-1-B10": 300}


def test_nothing_back_is_no_breaking_down(kits):
    with make.refused("nothing-made"):
        broken_down(kits, 1, {"PALE-1": 0, "FUG-1": 0}, reason="flooded")


def test_more_does_not_come_back_than_the_kits_hold(kits):
    with make.refused("more-out-than-in"):
        broken_down(kits, 4, {"FUG-1": 41})


def test_each_component_is_named_once(kits, malt):
    store = make.place()
    malt_back = Returned(lot_id=malt.pk, quantity=500, code="BACK-1", place=store)
    for named in ([malt_back], []):
        with make.refused("components-not-named"):
            break_down(
                by=make.user(),
                taken=taken(kits, 1),
                returned=named,
                on=make.TODAY,
                key=make.key(),
            )


def test_what_comes_back_of_a_lot_on_hold_is_on_hold(kits, malt):
    hold_lot(by=make.user(), lot=malt, expected=malt.version, reason="weevils")
    broken_down(kits, 1)
    back = Lot.objects.get(code="PALE-1-B1")
    assert (back.status, back.status_reason) == (LotStatus.ON_HOLD, "as lot PALE-1")
    assert Lot.objects.get(code="FUG-1-B1").status == LotStatus.RELEASED


def test_what_nobody_packed_is_not_broken_down():
    bought = make.lot("BOX-1", 10, item=make.item("KIT-PALE", ItemKind.KIT))
    assert contents_of(bought, 1) == []
    with make.refused("lot-not-packed"):
        broken_down(bought, 1)


def test_expired_kits_stay_together(malt):
    kits = packed((malt, 100), kits=10, occurred_on=make.TODAY - timedelta(days=9))
    Lot.objects.filter(pk=kits.pk).update(best_before_on=make.TODAY - timedelta(days=1))
    with make.refused("lot-expired"):
        broken_down(kits, 1)


def test_kits_are_broken_down_once_for_a_key(kits):
    key = make.key()
    work = broken_down(kits, 2, key=key)
    rows = [
        Returned(
            lot_id=lot.from_lot_id, quantity=on_hand(lot.code), code=lot.code, place=make.place()
        )
        for lot in work.outputs.order_by("pk")
    ]
    again = break_down(by=make.user(), taken=taken(kits, 2), returned=rows, on=make.TODAY, key=key)
    assert again == work
    assert on_hand("KITS-1") == 8
