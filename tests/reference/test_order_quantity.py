"""Order quantities and the newsvendor against the textbook, and against a peer library.

Marks: S read in the source.
"""

from __future__ import annotations

from itertools import accumulate

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.newsvendor import critical_ratio, discrete_stock, normal_stock
from planning.engine.order_quantity import discounted_order_quantity, economic_order_quantity
from tests.reference.peers import peer

BREAKS = ((0, 53.0), (50, 51.5), (100, 49.5), (200, 48.0), (500, 47.0))


def test_snyder_and_shen_example_3_1():
    """Snyder and Shen, ex. 3.1: EOQ 304.047 at K 8, h 0.225, D 1300 (S)."""
    found = economic_order_quantity(demand=1_300, order_cost=8, keeping=0.225)

    assert found.value == pytest.approx(304.047, abs=5e-4)


def test_all_units_discount_orders_at_a_break():
    """All-units discount: D 800, K 60, holding 30 % of price -> order 200, cost 40 080 (S)."""
    found = discounted_order_quantity(demand=800, order_cost=60, holding_share=0.3, breaks=BREAKS)

    assert (found.quantity, found.price, found.cost) == (200, 48.0, pytest.approx(40_080))


def test_newsvendor_of_a_normal_demand():
    """Mean 50, standard deviation 8, holding 0.18, stockout 0.70 (stockpyl's documentation, S)."""
    assert normal_stock(mean=50, spread=8, short=0.70, over=0.18).value == pytest.approx(
        56.6039, abs=5e-4
    )
    assert critical_ratio(short=0.70, over=0.18).value == pytest.approx(79.545, abs=5e-4)


@settings(max_examples=25)
@given(
    demand=st.floats(1, 1e6),
    order_cost=st.floats(0.01, 1e4),
    keeping=st.floats(0.001, 1e3),
)
def test_the_peer_finds_the_same_order_quantity(demand, order_cost, keeping):
    """stockpyl 1.0.2, economic_order_quantity."""
    theirs, _ = peer("stockpyl.eoq").economic_order_quantity(order_cost, keeping, demand)

    ours = economic_order_quantity(demand=demand, order_cost=order_cost, keeping=keeping)

    assert ours.value == pytest.approx(theirs)


@settings(max_examples=25)
@given(
    demand=st.integers(1, 5_000),
    order_cost=st.integers(1, 500),
    share=st.sampled_from([0.1, 0.2, 0.3]),
    steps=st.lists(st.integers(1, 400), max_size=4),
    falls=st.lists(st.floats(0.85, 0.99), min_size=4, max_size=4),
)
def test_the_peer_orders_the_same_under_discounts(demand, order_cost, share, steps, falls):
    """stockpyl 1.0.2, economic_order_quantity_with_all_units_discounts."""
    quantities = list(accumulate([0, *steps]))
    prices = list(accumulate([60.0, *falls[: len(steps)]], lambda price, fall: price * fall))
    theirs = peer("stockpyl.eoq").economic_order_quantity_with_all_units_discounts(
        order_cost, share, demand, quantities, prices
    )

    ours = discounted_order_quantity(
        demand=demand,
        order_cost=order_cost,
        holding_share=share,
        breaks=tuple(zip(quantities, prices, strict=True)),
    )

    assert ours.cost == pytest.approx(theirs[2])
    assert ours.quantity == pytest.approx(theirs[0])


@settings(max_examples=25)
@given(
    mean=st.floats(10, 500),
    share=st.floats(0.05, 0.4),
    short=st.floats(0.1, 20),
    over=st.floats(0.1, 20),
)
def test_the_peer_stocks_the_same_for_a_normal_demand(mean, share, short, over):
    """stockpyl 1.0.2, newsvendor_normal."""
    theirs, _ = peer("stockpyl.newsvendor").newsvendor_normal(over, short, mean, share * mean)

    ours = normal_stock(mean=mean, spread=share * mean, short=short, over=over)

    assert ours.value == pytest.approx(theirs, rel=1e-6)


@settings(max_examples=25)
@given(
    weights=st.dictionaries(st.integers(0, 30), st.integers(1, 9), min_size=1, max_size=8),
    short=st.integers(1, 20),
    over=st.integers(1, 20),
)
def test_the_peer_stocks_the_same_for_a_known_demand(weights, short, over):
    """stockpyl 1.0.2, newsvendor_discrete."""
    total = sum(weights.values())
    chances = {demand: weight / total for demand, weight in weights.items()}
    below = [sum(weights[d] for d in weights if d <= demand) for demand in weights]
    if any(sum_ * (short + over) == short * total for sum_ in below):
        return  # the peer decides a tie by the rounding of its floats
    theirs, _ = peer("stockpyl.newsvendor").newsvendor_discrete(over, short, demand_pmf=chances)

    assert discrete_stock(chances, short=short, over=over).value == theirs
