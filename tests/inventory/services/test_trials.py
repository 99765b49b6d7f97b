"""Stock that trial batches are brewed from: used up, no lot made of it, taken back when wrong."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from inventory.models import Conversion, ConversionKind, ConversionState, Lot, LotStock, PlaceKind
from inventory.queries.verify import stock_differences
from inventory.services.conversions import Used
from inventory.services.lots import hold_lot
from inventory.services.trials import return_from_trial, use_for_trial
from tests import make
from tests.inventory.works import repacked

pytestmark = pytest.mark.django_db


def _used(*parts: tuple[Lot, int], key: str = "take") -> Conversion:
    return use_for_trial(
        by=make.user(),
        trial="RIDGE-T1",
        used=[make.used(lot, quantity, str(n)) for n, (lot, quantity) in enumerate(parts)],
        occurred_on=make.TODAY,
        key=key,
    )


def _back(work: Conversion, key: str = "back", reason: str = "the other lot") -> None:
    return_from_trial(by=make.user(), conversion=work, key=key, reason=reason)


def test_what_a_trial_used_is_gone_and_its_cost_is_kept():
    lot = make.lot(quantity=1000, cost_amount=5000)
    work = _used((lot, 300), (lot, 100))
    assert LotStock.objects.get(lot=lot).on_hand == 600
    assert (work.kind, work.state) == (ConversionKind.TRIAL, ConversionState.DONE)
    move = work.postings.get().moves.get()
    assert (move.quantity, move.to_place.kind) == (400, PlaceKind.PRODUCTION)
    assert work.postings.get().reason == "Trial RIDGE-T1"
    assert not work.outputs.exists()
    written = History.objects.get(thing="inventory.conversion", action="done")
    assert written.after["cost"] == 2000
    assert stock_differences() == []


def test_the_same_key_takes_once():
    lot = make.lot(quantity=1000)
    assert _used((lot, 300)) == _used((lot, 300))
    assert LotStock.objects.get(lot=lot).on_hand == 700
    with make.refused("key-used-for-another-posting"):
        _used((lot, 400))


def test_only_what_may_be_used_goes_into_a_trial():
    lot = make.lot(quantity=1000)
    make.reservation(make.conversion(), lot, 900)
    with make.refused("not-enough-available"):
        _used((lot, 300))
    with make.refused("nothing-used"):
        use_for_trial(
            by=make.user(),
            trial="T",
            used=[Used(line="1", lot_id=lot.pk, quantity=0)],
            occurred_on=make.TODAY,
            key="none",
        )
    hold_lot(by=make.user(), lot=lot, expected=lot.version, reason="smells")
    with make.refused("lot-not-released"):
        _used((lot, 50))
    assert Conversion.objects.filter(kind=ConversionKind.TRIAL).count() == 0


def test_it_is_taken_back_once_and_for_a_reason():
    lot = make.lot(quantity=1000)
    work = _used((lot, 300))
    with make.refused("reason-missing"):
        _back(work, reason=" ")
    _back(work)
    assert LotStock.objects.get(lot=lot).on_hand == 1000
    work.refresh_from_db()
    assert work.state == ConversionState.CANCELLED
    with make.refused("posting-already-reversed"):
        _back(work, key="again")
    assert stock_differences() == []


def test_other_work_is_undone_on_its_own_page():
    lot = make.lot(quantity=1000)
    with make.refused("not-a-trial"):
        _back(repacked(lot, 100, 100))
    with make.refused("not-a-trial"):
        _back(make.conversion(kind=ConversionKind.TRIAL))
