from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from recipes.brewing.containers import made_up
from recipes.brewing.extract import points_l
from recipes.brewing.figures import figures
from recipes.brewing.roles import Family, Use
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    EXTRACT,
    PALE_MALT,
    but,
)

TIN = but(
    DRY_EXTRACT,
    name="Amber extract",
    points_l_per_kg=300.0,
    kg=1.7,
    container_kg=1.5,
    colour_lovibond=10.0,
)


def weights(*lines):
    return [line.kg for line in made_up(lines, 0.75).fermentables]


def total_l(lines):
    return math.fsum(points_l(line, 0.75) for line in lines)


def test_a_tin_goes_down_to_whole_ones_and_dry_extract_makes_up_the_rest():
    packed = made_up((TIN, DRY_EXTRACT), 0.75)
    tin, dry = packed.fermentables
    assert tin.kg == 1.5
    assert dry.kg == pytest.approx(2.7 + 0.2 * 300 / 366)
    assert packed.reasons == (
        "Amber extract: 1.70 kg in one of 1.5 kg; 0.16 kg more Dry pale extract makes up the 60 "
        "litre-degrees",
    )
    assert packed.missing_l == 0


def test_the_greater_part_of_a_tin_is_made_up_too():
    assert weights(but(TIN, kg=2.9), DRY_EXTRACT) == pytest.approx([1.5, 2.7 + 1.4 * 300 / 366])


def test_an_exact_number_of_tins_needs_no_making_up():
    packed = made_up((but(TIN, kg=3.0), DRY_EXTRACT), 0.75)
    assert packed.fermentables == (but(TIN, kg=3.0), DRY_EXTRACT)
    assert packed.reasons == ()


@given(
    st.floats(0.01, 8), st.floats(0.1, 4), st.floats(2, 6), st.sampled_from([ALL_GRAIN, EXTRACT])
)
def test_making_up_keeps_the_original_gravity(kg, container_kg, bulk_kg, brew):
    bulk = but(brew.fermentables[0], kg=bulk_kg)
    if bulk.use is Use.MASH:
        bulk = but(PALE_MALT, kg=bulk_kg)
    tin = but(TIN, kg=kg, container_kg=container_kg)
    before = replace(brew, fermentables=(tin, bulk))
    packed = made_up(before.fermentables, brew.mash_efficiency)
    assume(packed.missing_l == 0)
    after = replace(brew, fermentables=packed.fermentables)
    assert figures(after).og.value == pytest.approx(figures(before).og.value)
    count = packed.fermentables[0].kg / container_kg
    assert count == pytest.approx(round(count))
    assert count >= 1


@given(st.floats(0.01, 20), st.floats(0.1, 4))
def test_what_cannot_be_made_up_is_what_is_missing(kg, container_kg):
    before = (but(TIN, kg=kg, container_kg=container_kg), but(DRY_EXTRACT, kg=0.01))
    packed = made_up(before, 0.75)
    assert total_l(packed.fermentables) + packed.missing_l == pytest.approx(total_l(before))
    assert all(line.kg >= 0 for line in packed.fermentables)


def test_the_same_family_makes_up_before_the_largest():
    kin = but(DRY_EXTRACT, name="Dry amber", kg=0.3, family=Family.MUNICH_EXTRACT)
    tin = but(TIN, family=Family.MUNICH_EXTRACT)
    assert weights(tin, DRY_EXTRACT, kin) == pytest.approx([1.5, 2.7, 0.3 + 60 / 366])


def test_crystal_malt_makes_up_for_nothing():
    packed = made_up((TIN, CRYSTAL), 0.75)
    assert packed.fermentables[1] == CRYSTAL


def test_without_anything_divisible_the_nearest_number_is_packed_and_the_rest_is_told():
    up = made_up((but(TIN, kg=2.5), CRYSTAL), 0.75)
    assert up.fermentables[0].kg == 3.0
    assert up.missing_l == pytest.approx(-150)
    assert up.reasons[0].endswith("nothing divisible makes up 150 litre-degrees too many")
    down = made_up((but(TIN, kg=2.1), CRYSTAL), 0.75)
    assert down.fermentables[0].kg == 1.5
    assert down.reasons[0].endswith("180 litre-degrees too few")


def test_a_tin_is_never_left_out_and_what_it_gives_too_much_is_taken_back():
    packed = made_up((but(TIN, kg=0.5), DRY_EXTRACT), 0.75)
    assert [line.kg for line in packed.fermentables] == pytest.approx([1.5, 2.7 - 300 / 366])
    assert "0.82 kg less Dry pale extract takes back the 300 litre-degrees" in packed.reasons[0]


def test_a_line_of_nothing_stays_nothing():
    assert weights(but(TIN, kg=0.0), DRY_EXTRACT) == [0.0, 2.7]


def test_what_cannot_be_taken_back_is_told():
    packed = made_up((but(TIN, kg=0.5), but(DRY_EXTRACT, kg=0.1)), 0.75)
    assert packed.fermentables[1].kg == 0
    assert packed.reasons[0].endswith("and still 263 litre-degrees too many")


def test_priming_sachets_are_never_rounded_up():
    sachet = but(CORN_SUGAR, use=Use.PRIMING, kg=0.13, container_kg=0.05)
    packed = made_up((sachet, DRY_EXTRACT), 0.75)
    assert packed.fermentables[0].kg == pytest.approx(0.10)
    assert packed.fermentables[1] == DRY_EXTRACT
    assert "could burst bottles" in packed.reasons[0]
    small = made_up((but(sachet, kg=0.03),), 0.75)
    assert small.fermentables[0].kg == 0.03
    assert "30 g is to be weighed out of one of 50 g" in small.reasons[0]
