"""Lot sizing against the worked examples of the literature, and against a peer library.

Marks: S read in the source, C computed from the source's inputs by its own rules.
Convention of all of them: receipts at the start of a period, projected on hand at its end.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.least_cost import wagner_whitin
from planning.engine.sizing import (
    FIXED,
    LEAST_COST,
    PERIOD,
    LotSizing,
    LotSizings,
    plan_cost,
    sized,
    sized_many,
)
from tests.reference.bookkeeping import netted
from tests.reference.peers import peer

ITEM_C = netted([150, 0, 0, 120, 0, 150, 120, 0], [230, 0, 0, 0, 0, 0, 0, 0], on_hand=37)
FIXED_63 = netted([0, 50, 0, 10, 40, 20, 30, 5], [0] * 8, on_hand=20)
WAGNER_WHITIN_DEMAND = [69, 29, 36, 61, 61, 26, 34, 67, 45, 67, 79, 56]
WAGNER_WHITIN_SETUP = [85, 102, 102, 101, 98, 114, 105, 86, 119, 110, 98, 114]
ORLICKY = [35, 10, 0, 40, 0, 20, 5, 10, 30]


def receipts(net, rule):
    """Quantities by period counted from 1 as the books do."""
    return {order.bucket + 1: order.quantity for order in sized(net, rule)}


def test_krajewski_item_c_lot_for_lot():
    """Krajewski and Ritzman, item C: receipts 3, 150, 120 in weeks 4, 6, 7 (C)."""
    assert receipts(ITEM_C.net, LotSizing()) == {4: 3, 6: 150, 7: 120}


def test_krajewski_item_c_in_fixed_quantities_of_230():
    """Krajewski and Ritzman, item C, fixed 230: projected by week (C); received two weeks after
    releases in weeks 2 and 5."""
    rule = LotSizing(kind=FIXED, quantity=230)

    assert receipts(ITEM_C.net, rule) == {4: 230, 7: 230}
    assert ITEM_C.on_hand(rule) == [117, 117, 117, 227, 227, 77, 187, 187]


def test_krajewski_item_c_by_a_period_of_three_weeks():
    """Krajewski and Ritzman, item C, period order quantity 3: 153 in week 4, 120 in week 7 (C)."""
    assert receipts(ITEM_C.net, LotSizing(kind=PERIOD, period=3)) == {4: 153, 7: 120}


def test_fixed_63_projects_and_costs_what_the_example_does():
    """Fixed quantity 63, setup 100, holding 1: projected 20 33 33 23 46 26 59 54, cost 594 (S)."""
    rule = LotSizing(kind=FIXED, quantity=63, order_cost=100, holding=1)

    found = FIXED_63.on_hand(rule)

    assert found == [20, 33, 33, 23, 46, 26, 59, 54]
    assert 100 * len(sized(FIXED_63.net, rule)) + sum(found) == 594


def test_wagner_and_whitin_1958():
    """Wagner and Whitin, Management Science 5:89 (1958): the optimal plan costs 864 (S)."""
    received, cost = wagner_whitin(WAGNER_WHITIN_DEMAND, order_costs=WAGNER_WHITIN_SETUP, holding=1)

    assert cost == 864
    assert sum(received) == sum(WAGNER_WHITIN_DEMAND)


def test_orlicky_by_least_total_cost():
    """Orlicky, lot sizing, setup 100, holding 1 (S data): 395 with 45@1, 65@4, 40@8 (C)."""
    rule = LotSizing(kind=LEAST_COST, order_cost=100, holding=1)

    orders = sized(ORLICKY, rule)

    assert receipts(ORLICKY, rule) == {1: 45, 4: 65, 8: 40}
    assert plan_cost(ORLICKY, orders, rule) == 395


def test_snyder_and_shen_example_3_9():
    """Snyder and Shen, ex. 3.9: 90 120 80 70, setup 500, holding 2 -> 1380 (S)."""
    _, cost = wagner_whitin([90, 120, 80, 70], order_costs=[500] * 4, holding=2)

    assert cost == 1380


@pytest.mark.parametrize(
    ("rule", "net"),
    [
        (LotSizing(), ITEM_C.net),
        (LotSizing(kind=FIXED, quantity=230), ITEM_C.net),
        (LotSizing(kind=PERIOD, period=3), ITEM_C.net),
        (LotSizing(kind=FIXED, quantity=63), FIXED_63.net),
        (LotSizing(kind=LEAST_COST, order_cost=100, holding=1), ORLICKY),
    ],
)
def test_the_examples_come_out_the_same_for_many_items_at_once(rule, net):
    many = sized_many(np.array([net, net]), LotSizings.of([rule, replace(rule)]))

    for row in many.tolist():
        assert {at: found for at, found in enumerate(row, start=1) if found} == receipts(net, rule)


@settings(max_examples=25)
@given(
    demand=st.lists(st.integers(0, 90), min_size=1, max_size=12),
    order_cost=st.integers(0, 300),
    holding=st.sampled_from([0.25, 1.0, 2.0]),
)
def test_the_peer_finds_the_same_least_cost(demand, order_cost, holding):
    """stockpyl 1.0.2, wagner_whitin: another implementation of the same algorithm."""
    theirs = peer("stockpyl.wagner_whitin").wagner_whitin(len(demand), holding, order_cost, demand)

    _, ours = wagner_whitin(demand, order_costs=[order_cost] * len(demand), holding=holding)

    rule = LotSizing(kind=LEAST_COST, order_cost=order_cost, holding=holding)
    assert ours == pytest.approx(theirs[1])
    assert ours == pytest.approx(plan_cost(demand, sized(demand, rule), rule))
