"""The lots of one variety over all lines, asked apart from the rest of an answer."""

from __future__ import annotations

import pytest

from planning.engine.variety import Pair, VarietyCase, variety_choice


def case(kits, stock, start, *, least=1, others=(), newer=(), weak=(), rounding=0, batch=1):
    """Lines and lots numbered from zero; a kit takes ten units of any lot.

    ``newer`` is lots that expire after another, and ``batch`` the kits below which a rest of a lot
    is a sliver.
    """
    return VarietyCase(
        kits=dict(enumerate(kits)),
        least=dict.fromkeys(range(len(kits)), least),
        others=dict.fromkeys(range(len(kits)), 1) | dict(others),
        pairs=[
            Pair(
                line=line,
                lot=lot,
                each=10.0,
                rounding=rounding,
                passed=int(lot in newer),
                weak=lot in weak,
            )
            for line in range(len(kits))
            for lot in range(len(stock))
        ],
        stock={lot: 10 * held for lot, held in enumerate(stock)},
        rests=dict.fromkeys(range(len(stock)), (10, 10 * batch)),
        start=start,
    )


def chosen(asked):
    return variety_choice(asked).kits


def test_a_lot_more_is_used_where_other_varieties_change_anyway():
    """The first line changes twice anyway: it spares the second line a change, and takes three."""
    asked = case(
        [20, 12], [20, 8, 4], {(0, 0): 20, (1, 1): 8, (1, 2): 4}, others={0: 3}
    )  # fmt: skip
    assert chosen(asked) == {(1, 0): 12, (0, 0): 8, (0, 1): 8, (0, 2): 4}


def test_the_older_lot_is_used_first():
    assert chosen(case([5], [9, 9], {(0, 1): 5}, newer=[1])) == {(0, 0): 5}


def test_yeast_that_is_not_weak_comes_before_the_older_lot():
    assert chosen(case([5], [9, 9], {(0, 0): 5}, newer=[1], weak=[0])) == {(0, 1): 5}


@pytest.mark.parametrize(("stock", "used_up"), [([10, 4], 1), ([4, 10], 0)])
def test_a_lot_is_used_up_rather_than_another_left_with_a_sliver(stock, used_up):
    """Four kits from a lot of ten leave six, too few for a batch of eight."""
    asked = case([4], stock, {(0, 1 - used_up): 4}, batch=8)
    assert chosen(asked) == {(0, used_up): 4}


def test_no_batch_is_under_the_least():
    asked = case([10], [7, 7], {(0, 0): 5, (0, 1): 5}, least=4, newer=[1])
    assert chosen(asked) == {(0, 0): 6, (0, 1): 4}


def test_what_rounding_takes_beyond_the_kits_is_left_for_it():
    """Ten kits take the whole of the older lot, and what is rounded up no lot would give."""
    assert chosen(case([10], [10, 11], {(0, 1): 10}, newer=[1], rounding=1)) == {(0, 1): 10}


def test_a_lot_of_which_no_kit_takes_anything_leaves_no_sliver():
    asked = case([5], [9, 9], {(0, 1): 5}, newer=[1])
    asked.rests.clear()
    assert chosen(asked) == {(0, 0): 5}
