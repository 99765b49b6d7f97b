"""How net requirements become orders: each lot rule by hand, and its reasons."""

from __future__ import annotations

import pytest

from planning.engine.sizing import (
    FIXED,
    LEAST_COST,
    MINIMUM,
    PERIOD,
    LotSizing,
    holding_cost,
    plan_cost,
    sized,
)

SACK = 25


def rule(**facts):
    return LotSizing(**{"pack_quantity": SACK, **facts})


def packs(net, sizing):
    return {order.bucket: order.packs for order in sized(net, sizing)}


def reasons(net, sizing):
    return sized(net, sizing)[0].reasons


def test_each_requirement_by_itself_in_whole_packs_uses_what_is_left_of_the_last():
    assert packs([30, 0, 15, 10, 60], rule()) == {0: 2, 3: 1, 4: 2}
    assert reasons([30], rule()) == ("1.20 packs are needed, rounded up to 2.",)
    assert reasons([50], rule()) == ()


def test_fixed_quantity_is_ordered_as_often_as_it_takes():
    sizing = rule(kind=FIXED, quantity=75)

    assert packs([30, 60, 90], sizing) == {0: 3, 1: 3, 2: 3}
    assert packs([80], sizing) == {0: 6}
    assert reasons([25], sizing) == (
        "Raised from 1 to 3 packs: this item is ordered in a fixed quantity.",
    )


def test_fixed_quantity_is_filled_up_to_whole_packs():
    assert packs([10], rule(kind=FIXED, quantity=60)) == {0: 3}


def test_period_covers_its_buckets_and_begins_when_something_is_needed():
    sizing = rule(kind=PERIOD, period=2)

    assert packs([0, 25, 25, 25, 25], sizing) == {1: 2, 3: 2}
    assert [order.through for order in sized([0, 25, 25, 25, 25], sizing)] == [2, 4]
    assert reasons([25, 30], sizing) == (
        "One order covers all that is needed in its period.",
        "2.20 packs are needed, rounded up to 3.",
    )


def test_period_without_buckets_covers_as_long_as_it_keeps():
    assert packs([25] * 5, rule(kind=PERIOD)) == {0: 5}
    assert packs([25] * 5, rule(kind=PERIOD, keeps=1)) == {0: 2, 2: 2, 4: 1}
    assert reasons([25] * 5, rule(kind=PERIOD, keeps=1)) == (
        "One order covers all that is needed while it keeps.",
    )


def test_minimum_of_the_house_is_filled_up():
    sizing = rule(kind=MINIMUM, quantity=100)

    assert packs([25, 50, 50], sizing) == {0: 4, 2: 4}
    assert packs([130], sizing) == {0: 6}
    assert reasons([25], sizing) == (
        "Raised from 1 to 4 packs: the house's own minimum for this item.",
    )


@pytest.mark.parametrize("kind", [LEAST_COST, MINIMUM, PERIOD, FIXED, "lot_for_lot"])
def test_minimum_of_the_supplier_holds_under_every_rule(kind):
    sizing = rule(kind=kind, quantity=25, period=1, minimum_packs=4)

    (order,) = sized([25], sizing)

    assert order.packs == 4
    assert order.reasons == ("Raised from 1 to 4 packs, the supplier's minimum order.",)


def test_price_break_is_reached_for_when_the_whole_order_is_cheaper():
    sizing = rule(breaks=((1, 50_000), (4, 35_000)))

    assert packs([75, 0], sizing) == {0: 4}
    assert sized([75, 0], sizing)[0].cost == 140_000
    assert reasons([75, 0], sizing) == (
        "Raised from 3 to 4 packs: the price break saves 1.00 in all.",
    )


def test_nothing_is_bought_for_a_price_break_or_a_rule_that_will_not_keep():
    cheap = rule(breaks=((1, 50_000), (4, 35_000)), keeps=1)
    fixed = rule(kind=FIXED, quantity=150, keeps=1)

    assert packs([75, 0, 25], cheap) == {0: 3, 2: 1}
    assert packs([25, 50, 50, 0], fixed) == {0: 3, 2: 2}
    assert reasons([25, 50, 50, 0], fixed) == (
        "Raised from 1 to 6 packs: this item is ordered in a fixed quantity.",
        "Lowered from 6 to 3 packs: more would not keep until it is used.",
    )


def test_what_fills_the_minimum_is_not_counted_on_when_it_no_longer_keeps():
    assert packs([25, 0, 25], rule(minimum_packs=2, keeps=1)) == {0: 2, 2: 2}
    assert packs([25, 0, 25], rule(minimum_packs=2, keeps=2)) == {0: 2}


def test_least_cost_weighs_an_order_against_keeping():
    dear_to_keep = rule(kind=LEAST_COST, order_cost=100, holding=5.0)
    cheap_to_keep = rule(kind=LEAST_COST, order_cost=100, holding=1.0)

    assert packs([25, 25, 25], dear_to_keep) == {0: 1, 1: 1, 2: 1}
    assert packs([25, 25, 25], cheap_to_keep) == {0: 3}
    assert reasons([25, 25, 25], cheap_to_keep) == (
        "Raised from 1 to 3 packs: purchase, ordering and keeping cost the least in all.",
    )


def test_cost_of_a_plan_is_purchase_orders_and_keeping():
    sizing = rule(breaks=((1, 1_000),), order_cost=100, holding=2.0)

    # 20 and then 5 are left at the end of the first two buckets, 20 at the end of the last
    assert plan_cost([5, 15, 10], sized([5, 15, 10], sizing), sizing) == 2_000 + 200 + 2 * 45


def test_what_has_expired_costs_no_more_keeping():
    sizing = rule(holding=1.0, keeps=0, breaks=((1, 0),))

    assert plan_cost([20, 0, 0], sized([20, 0, 0], sizing), sizing) == 5


def test_keeping_one_unit_costs_its_share_of_the_price():
    assert holding_cost(share_a_year=0.2, price=365_000, quantity=1_000, days=7) == pytest.approx(
        1.4
    )


def test_nothing_net_is_no_order():
    assert sized([0, 0, 0], rule(kind=LEAST_COST)) == ()
    assert sized([], rule()) == ()


def test_net_below_zero_is_refused():
    with pytest.raises(ValueError, match="less than zero"):
        sized([5, -1], rule())


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"kind": "by feel"}, "no lot rule is called by feel"),
        ({"kind": FIXED}, "at least one unit"),
        ({"period": 0}, "at least the bucket"),
        ({"holding": -1.0}, "less than zero"),
        ({"keeps": -1}, "less than zero"),
        ({"breaks": ()}, "and a price"),
    ],
)
def test_rules_that_mean_nothing_are_refused(wrong, said):
    with pytest.raises(ValueError, match=said):
        rule(**wrong)
