"""verify_stock finds what was changed of work on lots behind the ledger's back."""

from __future__ import annotations

from datetime import timedelta

import pytest

from inventory.models import Conversion, ItemKind, Lot, Move
from inventory.models.guards import drop_guards, install_guards
from inventory.queries.verify import stock_differences
from inventory.services.works import undo_work
from tests import make
from tests.inventory.works import (
    blended,
    broken_down,
    decanted,
    hop,
    keeps,
    milled,
    packed,
    repacked,
)

pytestmark = pytest.mark.django_db
LATER = make.BEST_BEFORE_ON + timedelta(days=1)


@pytest.fixture(autouse=True)
def _workshop(db):
    """Do work of every kind, one of it taken back."""
    first = make.lot("PALE-1", cost_amount=9001)
    second = make.lot("PALE-2", cost_amount=77)
    fuggle = hop(cost_amount=3000)
    repacked(fuggle, 500, 400, left=(90, "REST-1"), packing="barrier", reason="dust", code="BAG-1")
    blended((first, 100), (second, 33), gave=130, code="MIX-1", reason="spilt")
    syrup = keeps(make.item("LME", ItemKind.EXTRACT), opened_days=30)
    decanted(make.lot("DRUM-1", item=syrup), 500, 300, left=(200, ""), code="CAN-1")
    kits = packed((first, 55), (fuggle, 10), kits=10)
    broken_down(kits, 3, {"FUG-1": 2}, reason="torn")
    undone = milled(second, 100, 100, code="FLOUR-1")
    undo_work(by=make.user(), conversion=undone, key=make.key(), reason="slip")
    assert stock_differences() == []


def _lot(code, **changes):
    Lot.objects.filter(code=code).update(**changes)


def _of(code):
    return Lot.objects.get(code=code)


def _work(kind, **changes):
    Conversion.objects.filter(kind=kind).update(**changes)


@pytest.mark.parametrize(
    ("spoil", "words"),
    [
        (lambda: _lot("BAG-1", from_lot=_of("PALE-1")), "Lot BAG-1 goes on from PALE-1, of which"),
        (lambda: _lot("BAG-1", from_lot=None), "Lot BAG-1 goes on from none"),
        (lambda: _lot("MIX-1", from_lot=_of("PALE-1")), "Lot MIX-1 goes on from PALE-1"),
        (lambda: _lot("PALE-2", from_lot=_of("PALE-1")), "Lot PALE-2 goes on from PALE-1"),
        (lambda: _lot("PALE-1-B3", from_lot=_of("PALE-2")), "Lot PALE-1-B3 goes on from PALE-2"),
        (lambda: _lot("REST-1", made_by=None), "made lot REST-1, which does not name it"),
        (lambda: _lot("REST-1", made_by=_of("MIX-1").made_by), "Lot REST-1 names work BLEND-"),
        (lambda: _lot("FLOUR-1", made_by=_of("MIX-1").made_by), "Lot FLOUR-1 names work BLEND-"),
        (lambda: _lot("PALE-1", made_by=make.conversion("IDLE")), "Lot PALE-1 names work IDLE"),
        (lambda: _lot("BAG-1", best_before_on=LATER), f"Lot BAG-1 is best before {LATER}, and"),
        (lambda: _lot("MIX-1", best_before_on=LATER), f"Lot MIX-1 is best before {LATER}, and"),
        (lambda: _lot("PALE-1-B3", best_before_on=None), "Lot PALE-1-B3 is best before None"),
        (lambda: _lot("BAG-1", cost_amount=1), "The lots of work REPACK-"),
        (lambda: _lot("PALE-1-B3", cost_amount=1), "The lots of work BREAK-"),
        (lambda: _lot("KITS-1", cost_amount=1), "cost 1, and what it took cost"),
        (lambda: _work("repack", state="open"), "is open, and its posting stands"),
        (lambda: _work("blend", state="cancelled"), "is cancelled, and its posting stands"),
        (lambda: _work("mill", state="done"), "is done, and no posting of it stands"),
        (lambda: _work("decant", opened_lot=_of("PALE-1")), "says it opened lot PALE-1, which it"),
        (lambda: _lot("DRUM-1", opened_on=None), "opened lot DRUM-1, which does not count as"),
    ],
)
def test_what_was_changed_by_hand_of_work_is_named(spoil, words):
    spoil()
    assert any(words in said for said in stock_differences())


@pytest.fixture
def _unguarded():
    drop_guards("default")
    yield
    install_guards("default")


@pytest.mark.usefixtures("_unguarded")
@pytest.mark.parametrize(
    ("code", "words"),
    [
        ("BAG-1", "took -1 more than it gave out and lost"),
        ("MIX-1", "took -1 more than it gave out and lost"),
        ("PALE-1-B3", "Kits of lot KITS-1 gave back 56 of lot PALE-1, and 55 was packed"),
    ],
)
def test_work_that_gave_out_more_than_went_in_is_named(code, words):
    made = Move.objects.get(lot__code=code, from_place__kind="production")
    more = 40 if code == "PALE-1-B3" else 1
    Move.objects.filter(pk=made.pk).update(quantity=made.quantity + more)
    assert any(words in said for said in stock_differences())
