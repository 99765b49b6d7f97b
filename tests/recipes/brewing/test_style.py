from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.figures import figures
from recipes.brewing.style import StyleRanges, distance, style_check
from tests.recipes.brewing.brews import ALL_GRAIN

ALE = StyleRanges(
    og_min=1.045,
    og_max=1.060,
    fg_min=1.010,
    fg_max=1.015,
    abv_min=4.5,
    abv_max=6.2,
    ibu_min=30,
    ibu_max=50,
    srm_min=5,
    srm_max=10,
)
limits = st.floats(0, 100)


def test_each_figure_of_a_beer_stands_beside_its_limits():
    beer = figures(ALL_GRAIN)
    rows = style_check(beer, ALE)
    assert [row.figure for row in rows] == ["og", "fg", "abv", "ibu", "srm"]
    assert [row.value for row in rows] == [
        getattr(beer, figure).value for figure in ("og", "fg", "abv", "ibu", "srm")
    ]
    assert [(row.low, row.high) for row in rows[:2]] == [(1.045, 1.060), (1.010, 1.015)]
    assert [row.unit for row in rows] == ["SG", "SG", "%", "IBU", "SRM"]


def test_a_beer_outside_is_told_how_far_and_not_refused():
    beer = figures(ALL_GRAIN)
    og = beer.og.value
    above = style_check(beer, replace(ALE, og_min=1.030, og_max=og - 0.004))[0]
    below = style_check(beer, replace(ALE, og_min=og + 0.003, og_max=1.090))[0]
    assert (above.within, below.within) == (False, False)
    assert (above.distance, below.distance) == pytest.approx((0.004, -0.003))


def test_the_limits_are_inside():
    assert distance(1.045, 1.045, 1.060) == distance(1.060, 1.045, 1.060) == 0


def test_gravity_is_compared_as_it_is_and_not_as_it_reads():
    assert distance(1.0449, 1.045, 1.060) == pytest.approx(-0.0001)


def test_a_sum_in_another_order_is_not_outside():
    assert distance(0.1 + 0.2, 0.0, 0.3) == 0


@given(limits, limits, limits)
def test_taking_the_distance_away_brings_a_figure_inside(value, one, other):
    low, high = sorted((one, other))
    away = distance(value, low, high)
    assert low - 1e-6 <= value - away <= high + 1e-6
    assert (away < 0) == (value < low - 1e-9)


def test_limits_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="IBU from 60 to 50 is the wrong way round"):
        replace(ALE, ibu_min=60)
    with pytest.raises(ValueError, match="srm min cannot be less than zero"):
        replace(ALE, srm_min=-1)
