"""What holds for the orders of every lot rule, whatever the packs, prices and shelf life."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.rules import KINDS, LEAST_COST
from planning.engine.sizing import LotSizing, LotSizings, plan_cost, sized, sized_many
from tests.planning.engine.sizings import nets, rules

few = settings(max_examples=80)


def left_over(net, orders, rule):
    """Serve the needs from fresh stock only; what was needed and not there, and what went off."""
    lots, missing, gone = [], 0, []
    arriving = {order.bucket: order for order in orders}
    for bucket, needed in enumerate(net):
        gone += [lot for lot in lots if lot[0] < bucket and lot[1]]
        lots = [lot for lot in lots if lot[0] >= bucket]
        if order := arriving.get(bucket):
            lots.append([bucket + rule.lasts(len(net)) - 1, order.quantity, order])
        for lot in lots:
            taken = min(lot[1], needed)
            lot[1] -= taken
            needed -= taken
        missing += needed
    return missing, gone


@few
@given(net=nets(), rule=rules())
def test_every_need_is_served_by_stock_that_still_keeps(net, rule):
    missing, _ = left_over(net, sized(net, rule), rule)

    assert missing == 0


@few
@given(net=nets(), rule=rules())
def test_only_the_last_pack_or_the_minimum_is_ever_thrown_away(net, rule):
    _, gone = left_over(net, sized(net, rule), rule)

    for _, quantity, order in gone:
        assert quantity < rule.pack_quantity or order.packs == rule.fewest_packs


@few
@given(net=nets(), rule=rules())
def test_orders_are_of_packs_that_the_supplier_sells(net, rule):
    for order in sized(net, rule):
        assert order.packs >= rule.fewest_packs
        assert order.quantity == order.packs * rule.pack_quantity
        assert order.cost == rule.cost(order.packs)
        assert order.bucket <= order.through <= order.bucket + rule.lasts(len(net)) - 1


@few
@given(net=nets(), rule=rules().map(lambda rule: replace(rule, keeps=None)))
def test_an_order_that_is_more_than_needed_says_why(net, rule):
    ordered = 0
    for order in sized(net, rule):
        short = sum(net[: order.bucket + 1]) - ordered
        assert order.quantity >= short > 0
        assert bool(order.reasons) == (order.quantity > short)
        ordered += order.quantity


@few
@given(net=nets(), rule=rules(kinds=(LEAST_COST,)))
def test_least_cost_is_never_dearer_than_another_rule(net, rule):
    least = plan_cost(net, sized(net, rule), rule)

    for kind in KINDS:
        other = replace(rule, kind=kind)
        assert least <= plan_cost(net, sized(net, other), other) + 1e-9


@few
@given(
    cases=st.integers(1, 8).flatmap(
        lambda buckets: st.lists(
            st.tuples(st.lists(st.integers(0, 12), min_size=buckets, max_size=buckets), rules()),
            min_size=1,
            max_size=6,
        )
    )
)
def test_many_items_at_once_are_ordered_as_each_by_itself(cases):
    net = np.array([demand for demand, _ in cases])

    many = sized_many(net, LotSizings.of([rule for _, rule in cases]))

    for row, (demand, rule) in zip(many.tolist(), cases, strict=True):
        single = [0] * len(demand)
        for order in sized(demand, rule):
            single[order.bucket] = order.quantity
        assert row == single


def test_no_items_have_no_orders():
    assert sized_many(np.zeros((0, 4), dtype=np.int64), LotSizings.of([])).shape == (0, 4)


def test_net_below_zero_of_one_among_many_is_refused():
    with pytest.raises(ValueError, match="less than zero"):
        sized_many(np.array([[3, -1]]), LotSizings.of([LotSizing()]))
