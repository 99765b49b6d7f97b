"""The last run of a kit: enough, but not for the dearest stroke of luck."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.newsvendor import critical_ratio, discrete_stock, last_run, normal_stock


def test_a_kit_that_earns_what_it_costs_is_made_as_forecast():
    assert last_run(forecast=40, spread_share=0.3, margin=100, cost=100).kits == 40


def test_a_dear_kit_of_small_margin_is_made_in_fewer_and_a_cheap_one_in_more():
    dear = last_run(forecast=40, spread_share=0.3, margin=100, cost=900)
    cheap = last_run(forecast=40, spread_share=0.3, margin=900, cost=100)

    assert (dear.kits, cheap.kits) == (25, 56)
    assert dear.working.value == dear.kits


def test_nothing_expected_is_nothing_made():
    assert last_run(forecast=0, spread_share=0.3, margin=100, cost=100).kits == 0


def test_once_anything_is_expected_one_kit_is_made():
    found = last_run(forecast=2, spread_share=1.0, margin=1, cost=900_000)

    assert found.kits == found.working.value == 1


def test_what_is_enough_with_just_the_chance_that_pays_best_is_enough():
    thirds = dict.fromkeys((1, 2, 3), 1 / 3)

    assert discrete_stock(thirds, short=1, over=2).value == 1


def test_the_chances_of_enough_are_shown_with_and_without_the_last_kit():
    found = discrete_stock({10: 0.5, 11: 0.3, 12: 0.2}, short=3, over=1)

    assert [term.value for term in found.terms] == pytest.approx([80, 50])


@settings(max_examples=40)
@given(
    weights=st.dictionaries(st.integers(0, 20), st.integers(1, 9), min_size=1, max_size=6),
    short=st.integers(1, 20),
    over=st.integers(1, 20),
    other=st.integers(0, 21),
)
def test_no_other_quantity_loses_less_on_average(weights, short, over, other):
    total = sum(weights.values())

    def loss(stock):
        return sum(
            weight * (short * max(0, demand - stock) + over * max(0, stock - demand))
            for demand, weight in weights.items()
        )

    best = discrete_stock(
        {demand: weight / total for demand, weight in weights.items()}, short=short, over=over
    )

    assert loss(best.value) <= loss(other)


def test_what_is_needed_for_a_figure_is_asked_for():
    with pytest.raises(ValueError, match="one too few"):
        critical_ratio(short=0, over=1)
    with pytest.raises(ValueError, match="come to 1"):
        discrete_stock({1: 0.5}, short=1, over=1)
    with pytest.raises(ValueError, match="below zero"):
        discrete_stock({1: 1.5, 2: -0.5}, short=1, over=1)
    with pytest.raises(ValueError, match="spread"):
        normal_stock(mean=1, spread=-1, short=1, over=1)
