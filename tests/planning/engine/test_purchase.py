"""A supplier sells packs: how many, at what price, and by when to order."""

from __future__ import annotations

from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.figures import NO_BREAK
from planning.engine.purchase import PackOffer, pack_order

TODAY = date(2025, 6, 2)
NEED_BY = date(2025, 6, 20)


def offer(*breaks, minimum=1, pack=1_000, lead_days=7):
    return PackOffer(
        pack_quantity=pack,
        minimum_packs=minimum,
        breaks=breaks or ((1, 50_000),),
        lead_days=lead_days,
    )


def order(net, sold, need_by=NEED_BY):
    return pack_order(net=net, offer=sold, need_by=need_by, today=TODAY)


def test_exact_packs_need_no_reason():
    result = order(3_000, offer())

    assert (result.packs, result.quantity, result.cost_ten_thousandths) == (3, 3_000, 150_000)
    assert result.reasons == ()


def test_part_of_a_pack_is_a_whole_pack():
    result = order(3_200, offer())

    assert result.packs == 4
    assert result.reasons == ("3.20 packs are needed, rounded up to 4.",)


def test_minimum_order_is_kept():
    result = order(3_000, offer(minimum=10))

    assert result.packs == 10
    assert result.reasons == ("Raised from 3 to 10 packs, the supplier's minimum order.",)


def test_price_break_is_reached_for_when_the_whole_order_is_cheaper():
    result = order(9_000, offer((1, 50_000), (10, 40_000)))

    assert (result.packs, result.cost_ten_thousandths) == (10, 400_000)
    assert result.reasons == ("Raised from 9 to 10 packs: the price break saves 5.00 in all.",)


def test_price_break_that_costs_more_or_the_same_is_left():
    assert order(7_000, offer((1, 50_000), (10, 40_000))).packs == 7
    assert order(8_000, offer((1, 50_000), (10, 40_000))).packs == 8


def test_first_price_is_a_minimum_too():
    assert order(1_000, offer((5, 50_000))).packs == 5


def test_order_day_is_the_lead_time_before_the_need():
    result = order(1_000, offer(lead_days=18))

    assert (result.order_by, result.past_due) == (TODAY, False)


def test_order_day_gone_by_is_past_due_and_says_when_it_would_arrive():
    result = order(1_000, offer(lead_days=19))

    assert (result.order_by, result.past_due) == (date(2025, 6, 1), True)
    assert [reason.replace(NO_BREAK, " ") for reason in result.reasons] == [
        "Past due: it should have been ordered by 1 Jun 2025; "
        "ordered today it arrives on 21 Jun 2025."
    ]


@pytest.mark.parametrize("net", [0, -5])
def test_nothing_net_is_no_order(net):
    with pytest.raises(ValueError, match="needs no order"):
        order(net, offer())


def test_offer_without_a_price_is_refused():
    with pytest.raises(ValueError, match="and a price"):
        PackOffer(pack_quantity=1, minimum_packs=1, breaks=(), lead_days=0)


@given(
    net=st.integers(1, 60_000),
    minimum=st.integers(0, 12),
    breaks=st.dictionaries(st.integers(1, 50), st.integers(1, 90_000), min_size=1, max_size=4),
)
def test_no_other_number_of_packs_is_cheaper(net, minimum, breaks):
    sold = offer(*breaks.items(), minimum=minimum)

    result = order(net, sold)

    least = max(-(-net // 1_000), minimum, min(breaks))
    assert result.packs >= least
    assert result.cost_ten_thousandths == min(sold.cost(packs) for packs in range(least, 120))
