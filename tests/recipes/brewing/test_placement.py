from __future__ import annotations

import pytest

from recipes.brewing.placement import misplaced, needs_mash
from recipes.brewing.roles import MethodKind, Use
from tests.recipes.brewing.brews import (
    BASE_MALT,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    FLAKED_CORN,
    FLAKED_OATS,
    MASHED_CRYSTAL,
    PALE_MALT,
    but,
)

EXTRACT, PARTIAL, ALL_GRAIN = MethodKind.EXTRACT, MethodKind.PARTIAL_MASH, MethodKind.ALL_GRAIN


@pytest.mark.parametrize("kind", [EXTRACT, PARTIAL])
def test_flaked_grain_may_not_sit_in_a_steeping_bag(kind):
    (found,) = misplaced((DRY_EXTRACT, but(FLAKED_OATS, use=Use.STEEP)), kind)
    assert found.refused
    assert "Flaked oats is starch that only a mash converts" in found.what
    assert found.remedy == "Make it a partial mash with enough base malt to convert it."


def test_flaked_grain_is_known_by_its_family_too():
    wrong = but(FLAKED_OATS, use=Use.STEEP, must_mash=False, steep_points_l_per_kg=100.0)
    assert needs_mash(wrong)
    assert misplaced((wrong,), EXTRACT)


def test_corn_has_syrup_for_a_remedy_and_base_malt_has_extract():
    corn = misplaced((but(FLAKED_CORN, use=Use.STEEP),), EXTRACT)[0]
    malt = misplaced((but(PALE_MALT, use=Use.STEEP),), EXTRACT)[0]
    assert corn.remedy.endswith("or use brewing syrup at flame-out in its place.")
    assert malt.remedy == "Make it a partial mash, or use pale extract in its place."


def test_an_extract_method_has_no_mash():
    base, crystal = misplaced((PALE_MALT, MASHED_CRYSTAL), EXTRACT)
    assert "has no mash, and Pale ale malt is mashed" in base.what
    assert crystal.remedy == "Steep it."


def test_grain_goes_into_mash_or_steep():
    (found,) = misplaced((but(CRYSTAL, use=Use.FLAME_OUT),), EXTRACT)
    assert "goes in at flame-out" in found.what
    assert found.remedy == "Mash or steep it."


def test_a_steep_without_a_yield_is_told():
    (found,) = misplaced((but(CRYSTAL, steep_points_l_per_kg=0.0),), EXTRACT)
    assert "no steep yield" in found.what


@pytest.mark.parametrize("kind", MethodKind)
def test_more_than_two_fifths_of_adjuncts_are_warned_of(kind):
    malt = BASE_MALT if kind is not EXTRACT else DRY_EXTRACT
    given = malt.kg * malt.points_l_per_kg
    sugar = {
        share: given * share / (1 - share) / CORN_SUGAR.points_l_per_kg for share in (0.4, 0.41)
    }
    assert misplaced((malt, but(CORN_SUGAR, kg=sugar[0.4] - 1e-6)), kind) == ()
    (found,) = misplaced((malt, but(CORN_SUGAR, kg=sugar[0.41])), kind)
    assert not found.refused
    assert found.what == "Of the extract 41 % is unmalted grain, sugar and syrup."
    assert "nutrient" in found.remedy


def test_priming_sugar_is_no_adjunct_of_the_wort():
    assert misplaced((DRY_EXTRACT, but(CORN_SUGAR, kg=9.0, use=Use.PRIMING)), EXTRACT) == ()


def test_a_sound_grist_is_left_alone():
    assert misplaced((PALE_MALT, FLAKED_OATS, MASHED_CRYSTAL), ALL_GRAIN) == ()
    assert misplaced((DRY_EXTRACT, CRYSTAL, CORN_SUGAR), EXTRACT) == ()
    assert misplaced((but(FLAKED_OATS, use=Use.STEEP, kg=0.0),), EXTRACT) == ()


def test_more_adjunct_than_the_malt_converts_is_told_how_much_malt_is_missing():
    (found,) = misplaced((but(PALE_MALT, kg=0.5), but(FLAKED_OATS, kg=1.5)), PARTIAL)
    assert found.refused
    assert "21 degrees Lintner, 1.50 kg of it unmalted grain" in found.what
    assert "Add 0.83 kg of Pale ale malt" in found.remedy
    enough = (but(PALE_MALT, kg=0.5 + 0.834), but(FLAKED_OATS, kg=1.5))
    assert [found.name for found in misplaced(enough, PARTIAL)] == ["Wort"]  # half is oats


def test_a_slow_mash_is_a_warning_and_no_refusal():
    (found,) = misplaced((but(PALE_MALT, kg=1.0), but(FLAKED_OATS, kg=1.4)), PARTIAL)
    assert not found.refused
    assert "converts slowly" in found.what


def test_malt_that_is_itself_weak_cannot_be_the_remedy():
    (found,) = misplaced((but(BASE_MALT, power_lintner=20.0),), ALL_GRAIN)
    assert "base malt of well over 40" in found.remedy


def test_six_row_converts_a_fifth_of_flaked_corn():
    """Common practice, no source; 160 degrees Lintner is typical of six-row malt."""
    six_row = but(PALE_MALT, power_lintner=160.0, kg=4.0)
    assert misplaced((six_row, but(FLAKED_CORN, kg=1.0)), ALL_GRAIN) == ()
