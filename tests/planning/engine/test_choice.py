"""The fewest lots that hold the kits, then the oldest."""

from __future__ import annotations

from itertools import combinations

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.choice import fewest_oldest


def test_oldest_single_lot_that_holds_all_is_taken_over_an_older_sliver():
    assert fewest_oldest([3, 50, 80], 50) == (1,)


def test_oldest_pair_is_taken_when_no_lot_holds_all():
    assert fewest_oldest([3, 40, 20, 40], 60) == (1, 2)


@given(held=st.lists(st.integers(0, 20), max_size=6), kits=st.integers(1, 60))
def test_no_smaller_or_older_set_holds_the_kits(held, kits):
    holding = [
        chosen
        for size in range(1, len(held) + 1)
        for chosen in combinations(range(len(held)), size)
        if sum(held[place] for place in chosen) >= kits
    ]

    assert fewest_oldest(held, kits) == (min(holding, key=lambda c: (len(c), c)) if holding else ())
