from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.pitch import (
    dry_grams_needed,
    dry_packs,
    dry_pitch,
    liquid_packs,
    liquid_pitch,
)

living = st.floats(0.01, 1)


@given(st.floats(1e9, 1e12), st.floats(5e10, 2e11), living)
def test_liquid_packs_are_enough_and_one_less_is_not(cells, per_pack, viability):
    packs = liquid_packs(cells=cells, cells_per_pack=per_pack, viability=viability)
    assert packs * per_pack * viability >= cells * (1 - 1e-8)
    assert packs == 1 or (packs - 1) * per_pack * viability < cells


@given(st.floats(30, 150), st.floats(4, 50), living)
def test_dry_packs_are_enough_and_one_less_is_not(dose, volume, activity):
    packs = dry_packs(dose_g_per_hl=dose, volume_l=volume, grams_per_pack=11.5, activity=activity)
    grams = dry_grams_needed(dose_g_per_hl=dose, volume_l=volume, activity=activity)
    assert packs * 11.5 >= grams * (1 - 1e-8)
    assert packs == 1 or (packs - 1) * 11.5 < grams


def test_a_pack_that_is_just_enough_is_one_pack():
    assert liquid_packs(cells=3 * 0.1e9, cells_per_pack=0.3e9, viability=1.0) == 1


def test_the_workings_say_whole_packs():
    liquid = liquid_pitch(
        pitch_rate_million=0.75, volume_l=20, plato=12, cells_per_pack=100e9, viability=0.8
    )
    dry = dry_pitch(dose_g_per_hl=80, volume_l=20, grams_per_pack=11.5, activity=0.9)
    assert (liquid.value, dry.value) == (3.0, 2.0)
    assert {term.name: term.value for term in liquid.terms}["cells needed"] == pytest.approx(180)
    assert {term.name: term.value for term in dry.terms}["yeast needed"] == pytest.approx(
        17.78, 0.001
    )


def test_dead_yeast_is_refused_with_a_remedy():
    with pytest.raises(ValueError, match="use another lot"):
        liquid_packs(cells=180e9, cells_per_pack=100e9, viability=0.0)
    with pytest.raises(ValueError, match="use another lot"):
        dry_grams_needed(dose_g_per_hl=50, volume_l=20, activity=0.0)


def test_an_empty_fermenter_is_refused():
    with pytest.raises(ValueError, match="fermenter volume must be more than zero"):
        dry_grams_needed(dose_g_per_hl=50, volume_l=0)
