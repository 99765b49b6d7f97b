"""Two people at the same moment, on a database that lets both write."""

from __future__ import annotations

from threading import Event

import pytest
from django.db import transaction

from boxwort.errors import Refusal
from inventory import events
from inventory.models import (
    AnalysisKind,
    Conversion,
    ItemKind,
    LotStock,
    Posting,
    Reservation,
)
from inventory.queries.verify import stock_differences
from inventory.services.analyses import record_analysis
from inventory.services.conversions import reserve_lots
from inventory.services.lots import count_lot, scrap_lot
from inventory.services.works import undo_work
from tests import make
from tests.at_once import at_once
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

pytestmark = [
    pytest.mark.services,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("two_can_write"),
]


TIMES = 3


def _codes(answers):
    return sorted(answer.code for answer in answers if isinstance(answer, Refusal))


@pytest.mark.parametrize("attempt", range(5))
def test_the_last_of_a_lot_goes_to_one_and_the_other_hears_why(attempt):
    lot = make.lot("MALT-1", 1000)
    works = [make.conversion("RUN-1"), make.conversion("RUN-2")]
    answers = at_once(*(lambda work=work: make.reservation(work, lot, 600) for work in works))
    assert _codes(answers) == ["not-enough-available"]
    refusal = next(answer for answer in answers if isinstance(answer, Refusal))
    assert refusal.details["available"] == 400
    assert "MALT-1" in refusal.what
    assert Reservation.objects.count() == 1
    assert LotStock.objects.get(lot=lot).reserved == 600
    assert stock_differences() == []


def test_lots_asked_for_in_opposite_order_do_not_block_each_other():
    lots = [make.lot(quantity=1000) for _ in range(6)]
    works = [make.conversion(f"RUN-{number}") for number in range(4)]

    def reserve(work, wanted):
        wants = [make.want(lot, 300, str(lot.pk)) for lot in wanted]
        return reserve_lots(by=make.user(), conversion=work, wants=wants, on=make.TODAY)

    answers = at_once(
        *(
            lambda work=work, turn=turn: reserve(work, lots[::turn])
            for work, turn in zip(works, (1, -1, 1, -1), strict=True)
        )
    )
    assert _codes(answers) == ["not-enough-available"]
    assert {stock.reserved for stock in LotStock.objects.all()} == {900}
    assert stock_differences() == []


def test_one_key_sent_twice_at_once_posts_once():
    lot, key, store = make.lot("MALT-1", 1000), make.key(), make.place()

    def scrap():
        return scrap_lot(
            by=make.user(),
            lot=lot,
            place=store,
            quantity=100,
            occurred_on=make.TODAY,
            key=key,
            reason="torn bag",
        )

    first, second = at_once(scrap, scrap)
    assert first == second
    assert LotStock.objects.get(lot=lot).on_hand == 900
    assert Posting.objects.filter(key=key).count() == 1


def test_a_count_and_a_reservation_at_once_leave_the_books_right():
    lot, store, work = make.lot("MALT-1", 1000), make.place(), make.conversion()

    def count():
        return count_lot(
            by=make.user(),
            lot=lot,
            place=store,
            counted=500,
            occurred_on=make.TODAY,
            key="count",
            reason="weekly",
        )

    at_once(count, lambda: make.reservation(work, lot, 700))
    stock = LotStock.objects.get(lot=lot)
    assert (stock.on_hand, stock.reserved) == (500, 0)
    assert stock_differences() == []


def test_of_two_who_mill_one_sack_one_hears_that_it_is_gone():
    for attempt in range(TIMES):
        lot = make.lot(quantity=1000)
        answers = at_once(
            *(
                lambda lot=lot, code=code: milled(lot, 600, 600, code=code)
                for code in (f"A-{attempt}", f"B-{attempt}")
            )
        )
        assert _codes(answers) == ["not-enough-on-hand"]
        assert LotStock.objects.get(lot=lot).on_hand == 400
    assert Conversion.objects.count() == TIMES
    assert stock_differences() == []


def test_a_sack_is_milled_or_reserved_whichever_came_first():
    for attempt in range(TIMES):
        lot, work = make.lot(quantity=1000), make.conversion()
        answers = at_once(
            lambda lot=lot, code=f"A-{attempt}": milled(lot, 600, 600, code=code),
            lambda lot=lot, work=work: make.reservation(work, lot, 600),
        )
        assert _codes(answers) == ["not-enough-available"]
        stock = LotStock.objects.get(lot=lot)
        assert (stock.on_hand, stock.reserved) in {(400, 0), (1000, 600)}
    assert stock_differences() == []


def test_what_is_taken_back_at_the_moment_it_is_used_is_one_or_the_other():
    for attempt in range(TIMES):
        work = milled(make.lot(quantity=1000), 600, 600, code=f"A-{attempt}")
        made = work.outputs.get()
        answers = at_once(
            lambda work=work: undo_work(
                by=make.user(), conversion=work, key=make.key(), reason="slip"
            ),
            lambda made=made, code=f"KITS-{attempt}": packed((made, 500), kits=5, code=code),
        )
        assert _codes(answers) in (["output-used"], ["not-enough-on-hand"])
        assert LotStock.objects.get(lot=made).on_hand in {0, 100}
    assert stock_differences() == []


def test_work_asked_twice_at_once_under_one_key_is_done_once():
    for attempt in range(TIMES):
        lot, key, code = make.lot(quantity=1000), make.key(), f"A-{attempt}"
        first, second = at_once(
            *[lambda lot=lot, key=key, code=code: milled(lot, 300, 300, key=key, code=code)] * 2
        )
        assert first == second
        assert LotStock.objects.get(lot=lot).on_hand == 700
    assert Conversion.objects.count() == TIMES


def test_work_taken_back_twice_at_once_is_taken_back_once():
    work = milled(make.lot("MALT-1", 1000), 600, 600)
    answers = at_once(
        *(
            lambda key=key: undo_work(by=make.user(), conversion=work, key=key, reason="slip")
            for key in ("one", "two")
        )
    )
    assert _codes(answers) == ["posting-already-reversed"]
    assert stock_differences() == []


def test_blends_of_the_same_lots_in_opposite_order_do_not_block_each_other():
    lots = [make.lot(quantity=1000) for _ in range(4)]
    answers = at_once(
        *(
            lambda turn=turn, code=code: blended(
                *((lot, 300) for lot in lots[::turn]), gave=1200, code=code
            )
            for turn, code in ((1, "A-1"), (-1, "B-1"), (1, "C-1"), (-1, "D-1"))
        )
    )
    assert len(_codes(answers)) == 1
    assert {stock.on_hand for stock in LotStock.objects.filter(lot__in=lots)} == {100}
    assert stock_differences() == []


def test_the_same_kits_are_broken_down_by_two_and_give_back_what_was_packed():
    kits = packed((make.lot("MALT-1", 1000), 55), kits=10)
    answers = at_once(*(lambda number=number: broken_down(kits, number) for number in (3, 7)))
    # who came second may have to look again, for a milligram may have gone to the other
    codes = _codes(answers)
    assert set(codes) <= {"more-out-than-in", "loss-without-reason"}
    if not codes:
        back = LotStock.objects.filter(lot__from_lot__code="MALT-1")
        assert sum(back.values_list("on_hand", flat=True)) == 55
    assert stock_differences() == []


def test_a_drum_decanted_by_two_is_opened_once():
    item = keeps(make.item("LME", ItemKind.EXTRACT), opened_days=30)
    drum = make.lot("DRUM-1", 1000, item=item)
    first, second = at_once(
        *(
            lambda code=code: decanted(drum, 400, 300, left=(100, ""), code=code)
            for code in ("A-1", "B-1")
        )
    )
    assert {first.opened_lot_id, second.opened_lot_id} == {None, drum.pk}
    drum.refresh_from_db()
    assert (drum.opened_on, LotStock.objects.get(lot=drum).on_hand) == (make.TODAY, 400)
    assert stock_differences() == []


def test_an_analysis_waits_for_who_weighs_what_went_on_from_the_lot():
    """Who reserves a heir holds it, and has committed before other apps hear of the analysis."""
    lot = hop()
    made = repacked(lot, 500, 500, packing="barrier").outputs.get()
    work, holding, told = make.conversion(), Event(), []

    def reserve():
        with transaction.atomic():
            make.reservation(work, made, 100)
            holding.set()
            told.append(heard.wait(timeout=1))

    heard = Event()

    def hear(lot_id, **_):
        assert Reservation.objects.filter(lot=made).exists()
        heard.set()

    def analyse():
        holding.wait(timeout=10)
        return record_analysis(
            by=make.user(), lot=lot, kind=AnalysisKind.ALPHA, sampled_on=make.TODAY, value=0.07
        )

    events.lot_analysed.connect(hear)
    try:
        at_once(reserve, analyse)
    finally:
        events.lot_analysed.disconnect(hear)
    assert told == [False]
    assert heard.is_set()
