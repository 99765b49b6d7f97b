"""Work on lots is taken back."""

from __future__ import annotations

import pytest

from inventory.models import Conversion, ConversionState, ItemKind, Lot, LotStatus
from inventory.queries.verify import stock_differences
from inventory.services.ledger import reverse_posting
from inventory.services.lots import move_lot, scrap_lot
from inventory.services.works import undo_work
from tests import make
from tests.inventory.works import (
    blended,
    broken_down,
    decanted,
    hop,
    keeps,
    milled,
    on_hand,
    packed,
    repacked,
)

pytestmark = pytest.mark.django_db


def _undo(work: Conversion, **facts):
    return undo_work(
        by=make.user(), conversion=work, **{"key": make.key(), "reason": "wrong lot", **facts}
    )


def test_what_was_taken_is_stock_again_and_what_was_made_never_was():
    lot = hop(quantity=5000)
    work = repacked(lot, 1000, 500, left=(400, "REST-1"), packing="loose", reason="dust")
    _undo(work)
    assert (on_hand("FUG-1"), on_hand("NEW-1"), on_hand("REST-1")) == (5000, 0, 0)
    statuses = set(work.outputs.values_list("status", "status_reason"))
    assert statuses == {(LotStatus.REJECTED, "The work that made it was taken back.")}
    assert Conversion.objects.get(pk=work.pk).state == ConversionState.CANCELLED
    assert stock_differences() == []


def test_kits_that_were_broken_down_are_whole_again():
    malt, fuggle = make.lot("PALE-1"), hop()
    kits = packed((malt, 500), (fuggle, 100), kits=10)
    _undo(broken_down(kits, 4, {"FUG-1": 0}, reason="torn"))
    assert (on_hand("KITS-1"), on_hand("PALE-1-B4"), on_hand("FUG-1-B4")) == (10, 0, 0)
    assert stock_differences() == []
    broken_down(kits, 10)
    assert on_hand("PALE-1-B10") == 500


def test_a_blend_is_parted_again():
    first, second = make.lot("PALE-1"), make.lot("PALE-2")
    _undo(blended((first, 10), (second, 10), gave=15, reason="spilt"))
    assert (on_hand("PALE-1"), on_hand("PALE-2"), on_hand("NEW-1")) == (1000, 1000, 0)


def _drum() -> Lot:
    item = keeps(make.item("LME", ItemKind.EXTRACT), opened_days=30)
    return make.lot("LME-1", 5000, item=item)


def test_a_lot_that_the_work_opened_is_closed_again():
    drum = _drum()
    _undo(decanted(drum, 1000, 300, left=(700, "")))
    drum.refresh_from_db()
    assert (drum.opened_on, drum.best_before_on) == (None, make.BEST_BEFORE_ON)


def test_a_lot_that_other_work_took_of_since_stays_opened():
    drum = _drum()
    first = decanted(drum, 1000, 300, left=(700, ""))
    drum.refresh_from_db()
    decanted(drum, 700, 300, left=(400, ""), code="NEW-2")
    _undo(first)
    drum.refresh_from_db()
    assert drum.opened_on == make.TODAY


def test_work_is_not_taken_back_once_its_lots_are_used_or_reserved():
    work = milled(make.lot("PALE-1"), 100, 100)
    new = work.outputs.get()
    reservation = make.reservation(make.conversion("RUN-1"), new, 10)
    with make.refused("output-reserved"):
        _undo(work)
    assert reservation.ended_at is None
    other = milled(make.lot("PALE-2"), 100, 100, code="NEW-2")
    scrap_lot(
        by=make.user(),
        lot=other.outputs.get(),
        place=make.place(),
        quantity=1,
        occurred_on=make.TODAY,
        key=make.key(),
        reason="spilt",
    )
    with make.refused("output-used"):
        _undo(other)


def test_what_was_packed_and_broken_down_since_names_the_work_to_take_back_first():
    kits = packed((make.lot("PALE-1", 1000), 100), kits=10)
    first, last = broken_down(kits, 2), broken_down(kits, 3)
    posting = kits.made_by.postings.get()

    def take_back():
        reverse_posting(
            by=make.user(), posting=posting, key=make.key(), reason="wrong", work=kits.made_by
        )

    for work in (last, first):
        with make.refused("output-used") as refused:
            take_back()
        assert refused.value.remedy == f"Take back {work.code} first."
        _undo(work)
    take_back()
    assert on_hand("PALE-1") == 1000


def test_what_was_carried_away_is_carried_back_first():
    work = milled(make.lot("PALE-1"), 100, 100)
    carried = move_lot(
        by=make.user(),
        lot=work.outputs.get(),
        quantity=1,
        from_place=make.place(),
        to_place=make.place("CAGE"),
        occurred_on=make.TODAY,
        key=make.key(),
    )
    with make.refused("output-carried-away") as caught:
        _undo(work)
    assert "Move it back to Store" in caught.value.remedy
    reverse_posting(by=make.user(), posting=carried, key=make.key(), reason="wrong shelf")
    _undo(work)
    assert on_hand("PALE-1") == 1000


def test_work_is_taken_back_once_and_for_a_reason():
    work, key = milled(make.lot("PALE-1"), 100, 100), make.key()
    with make.refused("reason-missing"):
        _undo(work, reason=" ")
    first = _undo(work, key=key)
    assert _undo(work, key=key) == first
    with make.refused("posting-already-reversed"):
        _undo(work)


def test_a_packing_is_taken_back_by_its_owner_alone():
    kits = packed((make.lot("PALE-1"), 500), kits=10)
    with make.refused("work-of-another-kind"):
        _undo(kits.made_by)


def test_the_posting_of_work_is_taken_back_with_the_work():
    work = milled(make.lot("PALE-1"), 100, 100)
    with make.refused("posting-of-work"):
        reverse_posting(by=make.user(), posting=work.postings.get(), key=make.key(), reason="slip")
