"""What expires first goes out first, and only while it is good."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.lots import LotSupply, drawn, first_expired_first_out

DAY = date(2025, 6, 2)


def lot(number: int, *, available: int = 10, last: int | None = None, first: int | None = None):
    return LotSupply(
        lot=number,
        code=f"L-{number}",
        available=available,
        first_day=None if first is None else DAY + timedelta(first),
        last_day=None if last is None else DAY + timedelta(last),
    )


def test_order_is_last_day_then_first_day_then_code():
    lots = [lot(1), lot(5, last=9), lot(4, last=9, first=-3), lot(3, last=9, first=-5), lot(2)]

    assert [found.lot for found in first_expired_first_out(lots)] == [5, 3, 4, 1, 2]


def test_lot_serves_on_its_last_day_and_not_after():
    assert lot(1, last=0).usable(DAY)
    assert not lot(1, last=-1).usable(DAY)


def test_lot_does_not_serve_before_it_arrives():
    assert drawn(5, [lot(1, first=1)], DAY).short == 5


@given(
    quantity=st.integers(0, 60),
    days=st.lists(st.tuples(st.integers(0, 20), st.none() | st.integers(-3, 3)), max_size=6),
)
def test_what_is_drawn_and_what_is_short_make_the_need(quantity, days):
    lots = [lot(at, available=held, last=last) for at, (held, last) in enumerate(days)]

    draw = drawn(quantity, lots, DAY)

    by_id = {found.lot: found for found in lots}
    assert sum(taken for _, taken in draw.rows) + draw.short == quantity
    assert all(0 < taken <= by_id[number].available for number, taken in draw.rows)
    assert all(by_id[number].usable(DAY) for number, _ in draw.rows)
    if draw.short:
        assert sum(held.available for held in lots if held.usable(DAY)) == quantity - draw.short
