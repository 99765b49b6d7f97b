from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.figures import figures, hop_additions
from recipes.brewing.roles import HopRole, Use
from recipes.brewing.substitution import substituted, suggested_ratio
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    BITTERING,
    CRYSTAL,
    DRY_EXTRACT,
    DRY_HOP,
    EXTRACT,
    FLAVOUR,
    LATE,
    PALE_MALT,
    but,
)

LIQUID = but(DRY_EXTRACT, name="Liquid pale extract", points_l_per_kg=300.0, use=Use.FLAME_OUT)
OTHER_HOP = replace(BITTERING, name="Other", alpha=0.12)


def test_a_fermentable_goes_in_when_the_old_one_did_at_its_ratio():
    brew = substituted(EXTRACT, 0, LIQUID, 1.22)
    put = brew.fermentables[0]
    assert (put.name, put.kg, put.use) == ("Liquid pale extract", 2.7 * 1.22, Use.BOIL)
    assert brew.fermentables[1] == CRYSTAL
    assert brew.hops == EXTRACT.hops


def test_the_suggested_ratio_keeps_the_original_gravity():
    ratio = suggested_ratio(DRY_EXTRACT, LIQUID).value
    assert ratio == pytest.approx(366 / 300)
    swapped = figures(substituted(EXTRACT, 0, LIQUID, ratio))
    assert swapped.og.value == pytest.approx(figures(EXTRACT).og.value)


def test_steeped_grain_is_compared_by_what_steeping_gives():
    other = but(CRYSTAL, steep_points_l_per_kg=100.0)
    assert suggested_ratio(CRYSTAL, other).value == pytest.approx(1.5)


def test_mashed_grain_is_compared_with_extract_at_the_efficiency():
    found = suggested_ratio(PALE_MALT, LIQUID, 0.75).value
    assert found == pytest.approx(300 * 0.75 / 300)


@given(st.sampled_from([0, 1]), st.floats(0.01, 0.2), st.floats(0.2, 5))
def test_a_bittering_hop_of_another_alpha_leaves_the_bitterness(index, alpha, ratio):
    other = replace(OTHER_HOP, alpha=alpha)
    brew = substituted(ALL_GRAIN, index, other, ratio)
    old, new = hop_additions(ALL_GRAIN), hop_additions(brew)
    assert [hop.ibu(20) for hop in new] == pytest.approx([hop.ibu(20) for hop in old])
    assert (brew.hops[index].minutes, brew.hops[index].role) == (
        ALL_GRAIN.hops[index].minutes,
        ALL_GRAIN.hops[index].role,
    )


def test_an_aroma_hop_keeps_its_ratio_and_the_bittering_hop_makes_up_for_it():
    strong = replace(LATE, name="Strong", alpha=0.14)
    brew = substituted(ALL_GRAIN, 2, strong, 1.0)
    assert brew.hops[2].grams == LATE.grams
    assert brew.hops[0].grams < BITTERING.grams
    assert brew.hops[1].grams == pytest.approx(FLAVOUR.grams)
    assert figures(brew).ibu.value == pytest.approx(figures(ALL_GRAIN).ibu.value)


def test_a_dry_hop_is_only_weighed():
    brew = substituted(ALL_GRAIN, 3, replace(DRY_HOP, name="Other", alpha=0.15), 0.8)
    assert brew.hops[3].grams == pytest.approx(24.0)
    assert brew.hops[0].grams == pytest.approx(BITTERING.grams)


@pytest.mark.parametrize("role", list(HopRole))
def test_hops_are_suggested_by_alpha_where_they_bitter_and_by_weight_where_not(role):
    found = suggested_ratio(replace(BITTERING, role=role), OTHER_HOP)
    bitters = role in (HopRole.ABSORB, HopRole.HOLD_BITTERNESS)
    assert found.value == pytest.approx(0.08 / 0.12 if bitters else 1.0)
    assert found.formula
    assert found.source


def test_a_form_that_isomerises_less_is_suggested_at_more_weight():
    cones = replace(OTHER_HOP, form_factor=0.9)
    assert suggested_ratio(BITTERING, cones).value == pytest.approx(0.08 / (0.12 * 0.9))
    assert suggested_ratio(cones, BITTERING).value == pytest.approx(0.12 * 0.9 / 0.08)


def test_a_hop_without_alpha_acid_cannot_take_up_the_bitterness():
    with pytest.raises(ValueError, match=r"Empty is to give .* IBU and gives none"):
        substituted(ALL_GRAIN, 0, replace(OTHER_HOP, name="Empty", alpha=0.0), 1.0)


def test_a_hop_does_not_stand_for_malt():
    with pytest.raises(ValueError, match="one is a hop and the other is not"):
        suggested_ratio(PALE_MALT, OTHER_HOP)


def test_a_ratio_of_nothing_is_refused():
    with pytest.raises(ValueError, match="ratio of a substitute must be more than zero"):
        substituted(EXTRACT, 0, LIQUID, 0.0)
