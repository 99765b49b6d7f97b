"""The order quantity of steady demand shows how it was come by, and refuses nonsense."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.order_quantity import discounted_order_quantity, economic_order_quantity


@settings(max_examples=40)
@given(
    demand=st.integers(1, 10_000),
    order_cost=st.integers(1, 1_000),
    share=st.floats(0.05, 0.5),
    step=st.integers(2, 3_000),
    other=st.floats(0.1, 10.0),
)
def test_no_other_quantity_is_cheaper_in_a_year(demand, order_cost, share, step, other):
    breaks = ((1, 10.0), (step, 9.0))

    best = discounted_order_quantity(
        demand=demand, order_cost=order_cost, holding_share=share, breaks=breaks
    )

    quantity = max(1.0, best.quantity * other)
    price = 9.0 if quantity >= step else 10.0
    year = demand * price + order_cost * demand / quantity + share * price * quantity / 2
    assert best.cost <= year + 1e-6


def test_an_order_is_at_least_what_has_a_price():
    found = discounted_order_quantity(
        demand=10, order_cost=1, holding_share=0.5, breaks=((50, 2.0),)
    )

    assert found.quantity == 50


def test_prices_may_be_told_in_any_order():
    asked = {"demand": 800, "order_cost": 60, "holding_share": 0.3}
    offered = [(200, 48.0), (1, 53.0)]

    found = discounted_order_quantity(**asked, breaks=offered)

    assert (found.quantity, found.cost) == (200, 40_080)


def test_a_price_from_less_than_nothing_is_refused():
    with pytest.raises(ValueError, match="the quantity of a break"):
        discounted_order_quantity(demand=10, order_cost=1, holding_share=0.5, breaks=((-1, 2.0),))


def test_each_price_that_was_weighed_is_shown():
    found = discounted_order_quantity(
        demand=800, order_cost=60, holding_share=0.3, breaks=((1, 53.0), (200, 48.0))
    )

    assert [part.value for part in found.working.parts] == pytest.approx([43_635.16, 40_080], 1e-4)
    assert found.working.terms[0].value == 200


@pytest.mark.parametrize("wrong", [{"demand": 0}, {"order_cost": 0}, {"keeping": -1}])
def test_nothing_can_be_said_without_demand_and_costs(wrong):
    with pytest.raises(ValueError, match="more than zero"):
        economic_order_quantity(**{"demand": 10, "order_cost": 1, "keeping": 1, **wrong})
