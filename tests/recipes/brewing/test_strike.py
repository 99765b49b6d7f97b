from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.strike import (
    absorbed_water,
    first_runnings,
    mash_water,
    strike_temperature,
)

thickness = st.floats(2, 6)
grain = st.floats(0, 40)
mash = st.floats(60, 72)


@given(thickness, grain, mash)
def test_water_is_struck_hotter_than_the_mash(litres_per_kg, grain_c, mash_c):
    struck = strike_temperature(mash_l_per_kg=litres_per_kg, grain_c=grain_c, mash_c=mash_c)
    assert mash_c < struck.value <= 100


@given(thickness, thickness, grain)
def test_a_thinner_mash_is_struck_cooler(one, other, grain_c):
    thick, thin = (
        strike_temperature(mash_l_per_kg=litres, grain_c=grain_c, mash_c=66).value
        for litres in sorted((one, other))
    )
    assert thin <= thick


@given(thickness, grain, mash)
def test_water_and_grain_meet_at_the_mash(litres_per_kg, grain_c, mash_c):
    """A kilogram of grain holds the heat of 0.2 qt/lb of water, 0.41727 L."""
    struck = strike_temperature(mash_l_per_kg=litres_per_kg, grain_c=grain_c, mash_c=mash_c)
    together = (litres_per_kg * struck.value + 0.41727 * grain_c) / (litres_per_kg + 0.41727)
    assert together == pytest.approx(mash_c, abs=1e-3)


def test_grain_that_is_as_warm_as_the_mash_needs_no_hotter_water():
    assert strike_temperature(mash_l_per_kg=3, grain_c=66, mash_c=66).value == 66


def test_hot_water_is_warned_of():
    assert "scalds" in strike_temperature(mash_l_per_kg=3, grain_c=20, mash_c=66).notes[0]


def test_water_above_boiling_is_refused_with_a_remedy():
    with pytest.raises(ValueError, match="use more water for the grain, or warm the grain"):
        strike_temperature(mash_l_per_kg=0.5, grain_c=5, mash_c=68)


@pytest.mark.parametrize(("grain_c", "mash_c"), [(-5, 66), (20, 152), (float("nan"), 66)])
def test_temperatures_that_no_mash_has_are_refused(grain_c, mash_c):
    with pytest.raises(ValueError, match="is not one of a mash; give 0 to 100 C"):
        strike_temperature(mash_l_per_kg=3, grain_c=grain_c, mash_c=mash_c)


@given(st.floats(0.1, 50), thickness)
def test_all_the_water_runs_off_or_stays_in_the_grain(kg, litres_per_kg):
    poured = mash_water(grain_kg=kg, mash_l_per_kg=litres_per_kg).value
    kept = absorbed_water(grain_kg=kg).value
    runnings = first_runnings(grain_kg=kg, mash_l_per_kg=litres_per_kg)
    assert runnings.value + kept == pytest.approx(poured)
    assert [part.value for part in runnings.parts] == [poured, kept]


def test_a_mash_that_gives_nothing_is_refused():
    with pytest.raises(ValueError, match=r"all stay in 5 kg of grain; use more than 1.04 L/kg"):
        first_runnings(grain_kg=5, mash_l_per_kg=1.0)


def test_no_grain_is_no_mash():
    with pytest.raises(ValueError, match="weight of mashed grain must be more than zero"):
        mash_water(grain_kg=0, mash_l_per_kg=3)
