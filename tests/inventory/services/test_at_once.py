"""Two people at the same moment, on a database that lets both write."""

from __future__ import annotations

import pytest

from boxwort.errors import Refusal
from inventory.models import LotStock, Posting, Reservation
from inventory.queries.verify import stock_differences
from inventory.services.conversions import reserve_lots
from inventory.services.lots import count_lot, scrap_lot
from tests import make
from tests.at_once import at_once

pytestmark = [
    pytest.mark.services,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("two_can_write"),
]


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
