"""Change points of varieties that meet where they can."""

from __future__ import annotations

from itertools import combinations, pairwise, permutations

from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.lining_up import Share, batches_between, lined_up

KITS = 12


def shares(*given_kits, slack=0):
    return [Share(lot=at, kits=kits, most=kits + slack) for at, kits in enumerate(given_kits)]


def test_changes_that_lie_at_one_kit_by_a_turn_of_the_lots_meet():
    assert lined_up([shares(30, 10), shares(10, 30)], least=6) == ((30, (0, 1)), (10, (1, 0)))


def test_no_batch_is_under_the_least_kits():
    found = lined_up([shares(6, 6), shares(4, 8)], least=2)
    assert found == ((4, (0, 0)), (2, (0, 1)), (6, (1, 1)))
    assert lined_up([shares(6, 6), shares(4, 8)], least=3) is None


def test_one_lot_of_each_is_one_batch():
    assert lined_up([shares(9), shares(9)], least=6) == ((9, (0, 0)),)
    assert batches_between([shares(9), shares(9)]) == (1, 1)


@st.composite
def varieties(draw):
    """Two or three varieties of up to three lots each, for the same kits."""
    found = []
    for _ in range(draw(st.integers(2, 3))):
        ends = sorted(draw(st.sets(st.integers(1, KITS - 1), max_size=2)))
        given_kits = [end - start for start, end in pairwise((0, *ends, KITS))]
        slack = draw(st.integers(0, 3))
        found.append(shares(*given_kits, slack=slack))
    return found


@settings(max_examples=60)
@given(varieties(), st.integers(1, 3))
def test_batches_lie_between_the_bounds_and_no_way_of_cutting_has_fewer(asked, least):
    fewest, most = batches_between(asked)
    pieces = lined_up(asked, least=least)

    best = fewest_pieces(asked, least)
    assert (None if pieces is None else len(pieces)) == best
    if pieces is None:
        return
    assert fewest <= len(pieces) <= most
    assert sum(kits for kits, _ in pieces) == KITS
    for at, variety in enumerate(asked):
        for share in variety:
            given_kits = sum(kits for kits, lots in pieces if lots[at] == share.lot)
            assert 0 < given_kits <= share.most


def fewest_pieces(asked, least):
    """Try every set of change points, and every way of dealing the pieces to the lots."""
    fewest, most = batches_between(asked)
    for count in range(fewest, most + 1):
        for changes in combinations(range(1, KITS), count - 1):
            pieces = [end - start for start, end in pairwise((0, *changes, KITS))]
            if min(pieces) >= least and all(fits(variety, pieces) for variety in asked):
                return count
    return None


def fits(variety, pieces):
    return any(
        all(
            sum(pieces[start:end]) <= share.most
            for share, (start, end) in zip(order, pairwise((0, *ends, len(pieces))), strict=True)
        )
        for order in permutations(variety)
        for ends in combinations(range(1, len(pieces)), len(order) - 1)
    )
