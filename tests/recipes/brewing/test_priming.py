from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.priming import (
    PRIMING_SUGARS,
    PrimingRule,
    priming_sugar,
    residual_co2,
    sugar_per_volume,
    volumes_from,
)
from recipes.brewing.roles import Family

sugars = st.sampled_from(list(PRIMING_SUGARS))
rules = st.sampled_from(list(PrimingRule))
warmth = st.floats(0, 30)


def primed(volumes=2.4, **changes):
    asked = {
        "volumes": volumes,
        "volume_l": 20.0,
        "highest_temperature_c": 20.0,
        "sugar": Family.SUCROSE,
        "rule": PrimingRule.STOICHIOMETRY,
    }
    return priming_sugar(**(asked | changes))


@given(warmth, warmth)
def test_beer_that_was_warmer_kept_less_gas(one, other):
    cool, warm = sorted((one, other))
    assert residual_co2(warm).value <= residual_co2(cool).value


def test_between_two_temperatures_the_table_is_a_straight_line():
    assert residual_co2(18).value == pytest.approx((0.99 + 0.88) / 2)


def test_beyond_the_table_says_so():
    beyond = residual_co2(24)
    assert beyond.value == pytest.approx(0.88 - 0.11)
    assert "Above 20 C" in beyond.notes[-1]
    assert len(residual_co2(20).notes) == 1


@pytest.mark.parametrize("celsius", [-1, 31, float("nan")])
def test_a_temperature_that_beer_never_has_is_refused(celsius):
    with pytest.raises(ValueError, match="warmest beer has been since fermentation slowed"):
        residual_co2(celsius)


@given(st.floats(1.8, 4), st.floats(1, 60), warmth, sugars, rules)
def test_the_sugar_for_a_carbonation_gives_that_carbonation(volumes, litres, warm, sugar, rule):
    beer = {"volume_l": litres, "highest_temperature_c": warm, "sugar": sugar, "rule": rule}
    grams = priming_sugar(volumes=volumes, **beer).value
    back = volumes_from(grams=grams * (1 - 1e-9), **beer)
    assert back.value == pytest.approx(volumes)


@given(st.floats(0.1, 4), st.floats(0.1, 4), warmth)
def test_more_gas_never_needs_less_sugar(one, other, warm):
    flat, lively = sorted((one, other))
    less = primed(flat, highest_temperature_c=warm).value
    assert less <= primed(lively, highest_temperature_c=warm).value


@given(rules)
def test_the_water_of_a_monohydrate_has_to_be_weighed_too(rule):
    dry, damp, cane = (
        sugar_per_volume(family, rule).value
        for family in (Family.GLUCOSE, Family.GLUCOSE_MONOHYDRATE, Family.SUCROSE)
    )
    assert cane < dry < damp


def test_beer_that_holds_enough_gets_no_sugar_and_is_told_why():
    gassed = primed(1.5, highest_temperature_c=0.0)
    assert gassed.value == 0
    assert "already holds 1.70 volumes" in gassed.notes[0]


def test_every_bottling_waits_for_the_fermentation():
    for working in (primed(2.4), primed(3.5), primed(0.5), carbonation(100)):
        assert "read twice" in working.notes[-1]
        assert "bursts bottles" in working.notes[-1]


def test_bottles_are_warned_for_above_three_volumes_and_refused_above_four():
    assert len(primed(3.0).notes) == 1
    assert "use sound bottles" in primed(3.01).notes[0]
    assert "use sound bottles" in primed(4.0).notes[0]
    with pytest.raises(ValueError, match=r"4\.01 volumes of carbon dioxide burst bottles"):
        primed(4.01)
    assert "use sound bottles" in primed(4.5, heavy_bottles=True).notes[0]


def carbonation(grams, **changes):
    asked = {
        "grams": grams,
        "volume_l": 20.0,
        "highest_temperature_c": 20.0,
        "sugar": Family.GLUCOSE,
        "rule": PrimingRule.STOICHIOMETRY,
    }
    return volumes_from(**(asked | changes))


def test_no_sugar_leaves_what_the_beer_has_kept():
    assert carbonation(0).value == pytest.approx(0.88)


def test_a_kit_with_too_much_priming_sugar_is_refused():
    with pytest.raises(ValueError, match="use less sugar, or heavy bottles"):
        carbonation(300)
    assert carbonation(300, heavy_bottles=True).value > 4


def test_a_sugar_of_unknown_yield_is_refused_with_those_that_are_known():
    with pytest.raises(ValueError, match=r"pale extract .* prime with one of: glucose"):
        primed(sugar=Family.PALE_EXTRACT)


def test_the_parts_are_the_gas_kept_and_the_yield():
    working = primed()
    kept, per_volume = (part.value for part in working.parts)
    assert working.value == pytest.approx((2.4 - kept) * per_volume * 20)


@pytest.mark.parametrize("change", [{"volumes": 0.0}, {"volume_l": 0.0}])
def test_nothing_to_carbonate_is_refused(change):
    with pytest.raises(ValueError, match="must be more than zero"):
        primed(**change)
