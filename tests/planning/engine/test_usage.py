"""Kits times weight, with overage, in whole units of stock."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from planning.engine.usage import kits_held, quantity_needed


def test_overage_is_rounded_up_once():
    assert quantity_needed(3, 33, 0.01) == 100
    assert quantity_needed(10, 100, 0.1) == 1100


def test_nothing_needed_holds_any_number_of_kits():
    assert kits_held(0, [0, 0]) is None


@given(
    available=st.integers(-5, 10**9),
    per_kits=st.lists(st.integers(1, 50_000), min_size=1, max_size=3),
    overage=st.sampled_from([0.0, 0.005, 0.01, 0.02, 0.1, 1.0]),
)
def test_kits_held_is_the_most_that_fit(available, per_kits, overage):
    def needed(kits):
        return sum(quantity_needed(kits, each, overage) for each in per_kits)

    kits = kits_held(available, per_kits, overage)

    assert kits is not None
    assert kits == 0 or needed(kits) <= available
    assert needed(kits + 1) > available
