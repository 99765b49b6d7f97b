"""Lot rules and net requirements of every kind, for sentences that hold for all of them."""

from __future__ import annotations

from itertools import accumulate

from hypothesis import strategies as st

from planning.engine.rules import KINDS, LotSizing


@st.composite
def falling_breaks(draw):
    """Breaks as suppliers give them: a larger order never has a higher price."""
    steps = draw(st.lists(st.integers(1, 5), min_size=1, max_size=3))
    prices = draw(st.lists(st.integers(0, 12), min_size=len(steps), max_size=len(steps)))
    return tuple(zip(accumulate(steps), sorted(prices, reverse=True), strict=True))


@st.composite
def rules(draw, kinds=KINDS):
    return LotSizing(
        kind=draw(st.sampled_from(kinds)),
        quantity=draw(st.integers(1, 20)),
        period=draw(st.sampled_from([None, 1, 2, 3])),
        pack_quantity=draw(st.sampled_from([1, 3, 5])),
        minimum_packs=draw(st.sampled_from([0, 1, 4])),
        breaks=draw(falling_breaks()),
        order_cost=draw(st.integers(0, 15)),
        holding=draw(st.sampled_from([0.0, 0.5, 1.0, 2.0])),
        keeps=draw(st.sampled_from([None, None, 0, 1, 2, 3])),
    )


def nets(longest=6, most=12):
    return st.lists(st.just(0) | st.integers(0, most), min_size=1, max_size=longest)
