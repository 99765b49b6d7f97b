from __future__ import annotations

import json
from dataclasses import replace

import pytest

from boxwort.working import Working
from recipes.brewing.figures import figures, hop_additions
from recipes.brewing.roles import MethodKind, Use
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    BASE_MALT,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    EXTRACT,
    but,
)


def test_every_figure_of_an_all_grain_brew_shows_its_working():
    brew = figures(ALL_GRAIN)
    assert brew.og.value == pytest.approx(1 + 4.5 * 300 * 0.75 / 20 / 1000)
    assert brew.power is not None
    for figure in (brew.og, brew.fg, brew.abv, brew.ibu, brew.srm, brew.boil_gravity, brew.power):
        stored = json.loads(json.dumps(figure.as_json(), allow_nan=False))
        assert Working.from_json(stored) == figure
        assert figure.formula
        assert figure.source


def test_an_extract_brew_has_no_enzyme_power():
    assert figures(EXTRACT).power is None


def test_hops_meet_the_gravity_of_the_boil_and_not_of_the_topped_up_wort():
    brew = figures(EXTRACT)
    assert brew.boil_gravity.value - 1 > 1.5 * (brew.og.value - 1)
    assert hop_additions(EXTRACT)[0].boil_gravity == pytest.approx(brew.boil_gravity.value)


def test_a_partial_boil_is_less_bitter_than_a_full_one():
    full = replace(EXTRACT, pre_boil_volume_l=23.0, post_boil_volume_l=20.0)
    assert figures(EXTRACT).ibu.value < figures(full).ibu.value


def test_extract_held_back_makes_the_same_wort_and_a_more_bitter_beer():
    late = replace(EXTRACT, fermentables=(but(DRY_EXTRACT, minutes=10), CRYSTAL))
    at_flame_out = replace(EXTRACT, fermentables=(but(DRY_EXTRACT, use=Use.FLAME_OUT), CRYSTAL))
    bitter = [figures(brew).ibu.value for brew in (EXTRACT, late, at_flame_out)]
    assert bitter == sorted(bitter)
    assert len(set(bitter)) == 3
    assert figures(at_flame_out).og.value == figures(EXTRACT).og.value


def test_each_hop_meets_its_own_boil():
    late = replace(EXTRACT, fermentables=(but(DRY_EXTRACT, minutes=15), CRYSTAL))
    bittering, flavour, *_ = hop_additions(late)
    assert bittering.boil_gravity < flavour.boil_gravity


def test_wort_left_in_the_kettle_keeps_its_extract():
    generous = replace(ALL_GRAIN, pre_boil_volume_l=26.0, post_boil_volume_l=22.0)
    assert figures(generous).og.value == pytest.approx(1 + 4.5 * 300 * 0.75 / 22 / 1000)


def test_sugar_after_the_boil_is_in_the_gravity_and_not_in_the_kettle():
    fed = replace(ALL_GRAIN, fermentables=(BASE_MALT, CORN_SUGAR))
    assert figures(fed).og.value > figures(ALL_GRAIN).og.value
    assert figures(fed).boil_gravity.value == figures(ALL_GRAIN).boil_gravity.value


def test_an_extract_method_has_no_mash_tun():
    with pytest.raises(ValueError, match="make it a partial mash"):
        figures(replace(ALL_GRAIN, kind=MethodKind.EXTRACT))


def test_a_kit_for_no_beer_is_refused():
    with pytest.raises(ValueError, match="finished volume must be more than zero"):
        figures(replace(ALL_GRAIN, finished_volume_l=0.0))
