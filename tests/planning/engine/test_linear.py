"""Linear programmes with their prices, and integer ones with their bounds."""

from __future__ import annotations

from math import inf

import pytest

from planning.engine.linear import Row, best


def test_a_price_is_what_one_more_of_a_bound_adds_and_holds_as_far_as_it_says():
    """Of 3 A + 2 B at most 8 of 2 A + B and 6 of A + B: both prices are 1 by hand."""
    rows = [Row(most=8, weights=[2, 1]), Row(most=6, weights=[1, 1])]
    answer = best([3, 2], rows, most=[10, 10])
    assert (answer.columns, answer.value, answer.bound) == ((2, 4), 14, 14)
    assert answer.prices == pytest.approx((1, 1))
    # beyond 12 of the first B is none, beyond 8 of the second A is none
    assert answer.reaches == pytest.approx((12, 8))


def test_the_price_of_a_least_is_what_one_more_of_it_costs():
    answer = best([-1, -2], [Row(least=4, weights=[1, 1])], most=[3, 10])
    assert (answer.columns, answer.value) == ((3, 1), -5)
    assert answer.prices == pytest.approx((-2,))
    assert answer.reaches == pytest.approx((13,))


def test_large_aims_beside_small_rows_are_solved():
    """One kit takes 40,000 of the 5 that are there: a solver gave up on these figures."""
    aim = [400_000] * 3 + [-400_000] * 3 + [200_000] * 3 + [700_000] * 3
    rows = [
        Row(
            most=5 / 40_000, weights=[each / 40_000 for each in (40_000, 7, 7, 3) for _ in range(3)]
        ),
        Row(
            most=430 / 4_300,
            weights=[each / 4_300 for each in (1, 250, 4_300, 0) for _ in range(3)],
        ),
        Row(least=1.6666665, weights=[1, 0, 0] * 4),
        Row(least=6.67e-8, weights=[0, 1, 0] * 4),
    ]
    found = best(aim, rows, most=[4, 1, 0, 2, 0, 3, 2, 1, 6, 4, 1, 3])
    assert found.value == pytest.approx(700_000 * 5 / 3, rel=1e-5)


def test_a_row_that_holds_nothing_back_is_worth_nothing():
    assert best([1], [Row(most=9, weights=[1])], most=[4]).prices == (0,)


def test_whole_columns_have_a_bound_and_no_prices():
    answer = best([5, 4], [Row(most=9, weights=[3, 2])], most=[10, 10], whole=True)
    assert (answer.columns, answer.value, answer.bound) == ((1, 3), 17, 17)
    assert (answer.proved, answer.prices, answer.reaches) == (True, (), ())


def test_no_columns_are_worth_nothing():
    answer = best([], [Row(most=1, weights=[])], most=[])
    assert (answer.columns, answer.value, answer.prices) == ((), 0, (0,))


@pytest.mark.parametrize("whole", [False, True])
def test_what_cannot_be_and_what_has_no_end_is_refused(whole):
    with pytest.raises(ValueError, match="no answer"):
        best([1], [Row(least=5, weights=[1])], most=[4], whole=whole)
    with pytest.raises(ValueError, match="no answer"):
        best([1], [], most=[inf], whole=whole)
