from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.extract import measured, original_gravity, points_l
from recipes.brewing.roles import Use
from tests.recipes.brewing.brews import BASE_MALT, CORN_SUGAR, CRYSTAL, DRY_EXTRACT, but

IN_THE_WORT = [Use.MASH, Use.STEEP, Use.BOIL, Use.FLAME_OUT, Use.FERMENTER]


def gravity(*lines, efficiency=0.75):
    return original_gravity(lines, wort_volume_l=20, mash_efficiency=efficiency)


@given(st.floats(0, 1))
def test_mashed_grain_gives_what_the_mash_gets_out(efficiency):
    assert points_l(BASE_MALT, efficiency) == pytest.approx(4.5 * 300 * efficiency)


@pytest.mark.parametrize("use", IN_THE_WORT)
@pytest.mark.parametrize("line", [DRY_EXTRACT, CORN_SUGAR], ids=lambda line: line.name)
def test_extract_and_sugar_give_everything_wherever_they_go_in(line, use):
    assert points_l(but(line, use=use), 0.5) == line.kg * line.points_l_per_kg


def test_a_steep_has_its_own_yield():
    assert points_l(CRYSTAL, 0.75) == points_l(CRYSTAL, 0.5) == pytest.approx(0.3 * 150)


def test_gravity_is_the_sum_over_the_volume():
    og = gravity(BASE_MALT, CORN_SUGAR)
    assert og.value == pytest.approx(1 + (4.5 * 300 * 0.75 + 0.5 * 384) / 20 / 1000)
    assert [part.name for part in og.parts] == ["Pale malt", "Corn sugar"]


def test_the_working_of_each_line_gives_its_value():
    for part in gravity(BASE_MALT, CRYSTAL, CORN_SUGAR).parts:
        by_hand = 1.0
        for term in part.terms:
            by_hand *= term.value
        assert part.value == pytest.approx(by_hand)


def test_priming_sugar_is_not_in_the_wort():
    primed = gravity(BASE_MALT, but(CORN_SUGAR, use=Use.PRIMING))
    assert primed.value == gravity(BASE_MALT).value
    assert "Priming sugar is left out" in primed.notes[0]


def test_sugar_in_the_fermenter_counts_and_says_so():
    fed = gravity(BASE_MALT, but(CORN_SUGAR, use=Use.FERMENTER))
    assert fed.value == gravity(BASE_MALT, CORN_SUGAR).value
    assert "in the fermenter" in fed.notes[0]


def test_flaked_grain_may_not_sit_in_a_steeping_bag():
    flaked = but(BASE_MALT, name="Flaked oats", use=Use.STEEP)
    with pytest.raises(ValueError, match=r"Flaked oats must be mashed .* use a partial mash"):
        points_l(flaked, 0.75)


def test_grain_is_not_boiled():
    with pytest.raises(ValueError, match=r"Crystal malt is grain .* mash or steep it"):
        points_l(but(CRYSTAL, use=Use.BOIL), 0.75)


def test_a_grain_without_a_steep_yield_is_not_guessed():
    with pytest.raises(ValueError, match="Crystal malt has no steep yield"):
        points_l(but(CRYSTAL, steep_points_l_per_kg=0.0), 0.75)


@pytest.mark.parametrize(
    ("change", "efficiency", "what"),
    [
        ({"kg": -1.0}, 0.75, "weight of Pale malt"),
        ({"points_l_per_kg": -1.0}, 0.75, "extract of Pale malt"),
        ({}, 75, "mash efficiency is a share"),
    ],
)
def test_impossible_grists_are_refused(change, efficiency, what):
    with pytest.raises(ValueError, match=what):
        points_l(but(BASE_MALT, **change), efficiency)


def test_an_empty_kettle_is_refused():
    with pytest.raises(ValueError, match="wort volume must be more than zero"):
        original_gravity((), wort_volume_l=0, mash_efficiency=0.75)


def test_a_lot_gives_what_its_analysis_says():
    lot = measured(BASE_MALT, extract=310.0, colour=2.4, power=120.0)
    assert points_l(lot, 1.0) == pytest.approx(4.5 * 310)
    assert (lot.colour_lovibond, lot.power_lintner, lot.name) == (2.4, 120.0, "Pale malt")


def test_what_was_not_analysed_stays_as_specified():
    assert measured(BASE_MALT) == BASE_MALT
    dead = measured(BASE_MALT, power=0.0)
    assert (dead.power_lintner, dead.points_l_per_kg) == (0, BASE_MALT.points_l_per_kg)


def test_a_steep_yield_is_not_changed_by_an_extract_analysis():
    assert points_l(measured(CRYSTAL, extract=200.0), 0.75) == points_l(CRYSTAL, 0.75)


def test_an_analysis_below_nothing_is_refused():
    with pytest.raises(ValueError, match="enzyme power of Pale malt cannot be less than zero"):
        measured(BASE_MALT, power=-1.0)
