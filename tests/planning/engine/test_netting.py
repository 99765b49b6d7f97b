"""Buckets: what dies before it is needed is no supply."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.netting import BucketLot, netted, releases

QUANTITIES = st.lists(st.integers(0, 50), min_size=5, max_size=5)


def test_expired_stock_is_needed_again():
    rows = netted([0, 0, 30], [0, 0, 0], lots=[BucketLot(quantity=30, last_bucket=1)])

    assert [row.projected for row in rows] == [30, 30, 0]
    assert (rows[2].expired, rows[2].net) == (30, 30)


def test_first_expired_is_used_first():
    rows = netted([20, 30], [0, 0], on_hand=30, lots=[BucketLot(quantity=20, last_bucket=0)])

    assert [row.net for row in rows] == [0, 0]
    assert [row.expired for row in rows] == [0, 0]


def test_safety_stock_is_built_up_and_kept():
    rows = netted([0, 10, 5], [0, 0, 0], on_hand=12, safety=8)

    assert [row.net for row in rows] == [0, 6, 5]
    assert [row.projected for row in rows] == [12, 8, 8]


def test_order_that_should_have_gone_before_the_first_bucket_is_past_due():
    rows = netted([4, 0, 6], [0, 0, 0])

    released = releases(rows, lead_buckets=2)

    assert (released.by_bucket, released.past_due) == ((6, 0, 0), 4)


@given(gross=QUANTITIES, scheduled=QUANTITIES, on_hand=st.integers(0, 60), safety=st.integers(0, 9))
def test_projected_follows_from_the_bucket_before(gross, scheduled, on_hand, safety):
    rows = netted(gross, scheduled, on_hand=on_hand, safety=safety)

    before = on_hand
    for row in rows:
        assert row.net == max(0, row.gross + safety - before - row.scheduled)
        before += row.scheduled + row.planned_receipt - row.gross
        assert row.projected == before >= safety


@given(
    gross=QUANTITIES,
    lots=st.lists(st.tuples(st.integers(0, 40), st.integers(0, 4)), max_size=4),
)
def test_stock_is_used_or_expires_and_nothing_is_lost(gross, lots):
    held = [BucketLot(quantity=quantity, last_bucket=last) for quantity, last in lots]

    rows = netted(gross, [0] * 5, lots=held)

    supplied = sum(quantity for quantity, _ in lots) + sum(row.net for row in rows)
    gone = sum(row.gross + row.expired for row in rows)
    assert supplied == gone + rows[-1].projected
