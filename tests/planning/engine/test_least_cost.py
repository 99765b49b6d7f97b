"""Least total cost: against every possible plan on small cases, and its ties."""

from __future__ import annotations

from math import inf

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine import least_cost
from planning.engine.least_cost import (
    cheapest_orders,
    pack_demand,
    plain_orders,
    wagner_whitin,
)
from planning.engine.sizing import LEAST_COST, LotSizing, plan_cost, sized
from tests.planning.engine.sizings import nets, rules


def cheapest_of_all(net, rule, bucket=0, lots=()):
    """The cost of the best plan that orders any packs in any bucket, by trying them all.

    ``lots`` are fresh receipts that are left: the bucket in which each no longer keeps, and units.
    """
    if bucket == len(net):
        return 0.0
    there = [lot for lot in lots if lot[0] > bucket]
    best = inf
    for packs in (0, *range(rule.fewest_packs, most_packs(net, rule, bucket, there) + 1)):
        fresh = (bucket + rule.lasts(len(net)), packs * rule.pack_quantity)
        left = after_use([*there, fresh], net[bucket])
        if left is None:
            continue
        cost = rule.holding * sum(quantity for _, quantity in left)
        cost += rule.cost(packs) + rule.order_cost if packs else 0
        best = min(best, cost + cheapest_of_all(net, rule, bucket + 1, left))
    return best


def most_packs(net, rule, bucket, lots):
    """No more than will keep until it is used, but for the last pack and the minimum."""
    ahead = sum(net[bucket : bucket + rule.lasts(len(net))]) - sum(each for _, each in lots)
    most = max(rule.whole(ahead), rule.fewest_packs)
    if bucket + rule.lasts(len(net)) > len(net):
        return max(most, *(step for step, _ in rule.breaks))
    return most


def after_use(lots, needed):
    """What is left of lots, the oldest used first; None where they do not suffice."""
    left = []
    for ends, quantity in lots:
        taken = min(quantity, needed)
        needed -= taken
        left.append((ends, quantity - taken))
    return None if needed else left


@settings(max_examples=60)
@given(net=nets(longest=4, most=6), rule=rules(kinds=(LEAST_COST,)))
def test_no_plan_whatever_is_cheaper(net, rule):
    assert plan_cost(net, sized(net, rule), rule) == pytest.approx(cheapest_of_all(net, rule))


PLAIN = st.builds(
    LotSizing,
    kind=st.just(LEAST_COST),
    pack_quantity=st.sampled_from([1, 3]),
    order_cost=st.integers(0, 15),
    holding=st.sampled_from([0.0, 0.5, 2.0]),
)


@given(st.lists(st.tuples(st.lists(st.integers(0, 9), min_size=6, max_size=6), PLAIN), min_size=2))
def test_items_together_are_ordered_as_each_by_itself(asked):
    lacking, sizings = zip(*asked, strict=True)
    together = plain_orders(np.array(lacking), sizings)
    assert together == [cheapest_orders(net, rule) for net, rule in asked]


def test_break_is_reached_for_over_several_buckets():
    rule = LotSizing(kind=LEAST_COST, breaks=((1, 100), (10, 60)), order_cost=10, holding=1.0)

    assert cheapest_orders([4, 4, 4, 4], rule) == {0: 16}
    assert cheapest_orders([4, 0, 0, 0], rule) == {0: 4}


def test_minimum_is_bought_once_where_it_serves_two_needs():
    rule = LotSizing(kind=LEAST_COST, minimum_packs=10, breaks=((1, 100),), holding=1.0)

    assert cheapest_orders([4, 0, 6], rule) == {0: 10}
    assert cheapest_orders([4, 0, 7], rule) == {0: 11}


def test_of_two_plans_that_cost_the_same_the_later_order_is_taken():
    rule = LotSizing(kind=LEAST_COST, order_cost=10, holding=1.0)

    # keeping ten for a bucket costs what another order does
    assert cheapest_orders([10, 10], rule) == {0: 10, 1: 10}


def test_a_part_of_a_pack_that_does_not_keep_is_bought_again():
    rule = LotSizing(kind=LEAST_COST, pack_quantity=10, keeps=1, breaks=((1, 100),))

    assert cheapest_orders([5, 0, 5], rule) == {0: 1, 2: 1}


def test_so_many_packs_that_not_all_are_looked_at_still_cover_and_save(monkeypatch):
    rule = LotSizing(kind=LEAST_COST, breaks=((1, 100), (500, 60)), order_cost=1_000, holding=0.5)
    net = [400, 300, 700, 100, 900]
    exact = plan_cost(net, sized(net, rule), rule)

    monkeypatch.setattr(least_cost, "MOST_CHOICES", 10)
    near = sized(net, rule)

    assert all(np.cumsum([order.packs for order in near])[-1] >= total for total in [sum(net)])
    assert exact <= plan_cost(net, near, rule) <= 1.1 * exact


def test_packs_are_counted_over_all_that_was_needed_so_far():
    assert pack_demand(np.array([[3, 6, 2, 20]]), np.array([10])).tolist() == [[1, 0, 1, 2]]


def test_a_cheap_order_is_placed_where_nothing_is_needed():
    """Costs of ordering may differ by bucket, as in the paper of 1958."""
    received, cost = wagner_whitin([5, 0, 5], order_costs=[10, 1, 100], holding=1)

    assert (received, cost) == ((5, 5, 0), 16.0)
