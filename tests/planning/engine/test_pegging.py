"""Pegging: what was needed laid over what served it."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.engine.pegging import overlaid

amounts = st.lists(st.integers(0, 30), max_size=8)


def pieces(needs, supplies) -> list[tuple[int, int, int]]:
    pegs = overlaid(np.array(needs, dtype=np.int64), np.array(supplies, dtype=np.int64))
    return list(zip(pegs.need.tolist(), pegs.supply.tolist(), pegs.quantity.tolist(), strict=True))


def test_a_need_may_be_served_from_two_lots_and_a_lot_serve_two_needs():
    assert pieces([30, 20], [10, 40]) == [(0, 0, 10), (0, 1, 20), (1, 1, 20)]


def test_nothing_needed_and_nothing_taken_make_no_piece():
    assert pieces([], []) == []
    assert pieces([0, 5], [0, 5, 0]) == [(1, 1, 5)]


@given(amounts, amounts)
def test_pegs_sum_to_what_is_needed_as_far_as_supplies_reach(needs, supplies):
    found = pieces(needs, supplies)
    common = min(sum(needs), sum(supplies))
    assert sum(quantity for _, _, quantity in found) == common
    for at, amount in enumerate(needs):
        before = sum(needs[:at])
        served = sum(quantity for need, _, quantity in found if need == at)
        assert served == max(0, min(amount, common - before))
    for at, amount in enumerate(supplies):
        assert sum(quantity for _, supply, quantity in found if supply == at) <= amount


@given(amounts, amounts)
def test_what_is_needed_first_is_served_by_what_is_used_first(needs, supplies):
    found = pieces(needs, supplies)
    assert found == sorted(found)
    assert all(quantity > 0 for *_, quantity in found)


@pytest.mark.parametrize(("needs", "supplies"), [([-1], [1]), ([1], [-1])])
def test_amounts_below_zero_are_refused(needs, supplies):
    with pytest.raises(ValueError, match="less than zero"):
        pieces(needs, supplies)
