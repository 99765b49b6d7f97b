from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.convert import all_grain_draft, converted
from recipes.brewing.extract import points_l
from recipes.brewing.figures import figures
from recipes.brewing.power import SOUND_LINTNER
from recipes.brewing.roles import Family, FermentableKind, HopRole, MethodKind, Use
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    CORN_SUGAR,
    CRYSTAL,
    EXTRACT,
    FLAKED_CORN,
    FLAKED_OATS,
    MASHED_CRYSTAL,
    PALE_EXTRACT,
    PALE_MALT,
    but,
)

GRAIN = FermentableKind.GRAIN
MUNICH = but(PALE_MALT, name="Munich malt", colour_lovibond=9.0, power_lintner=40.0, kg=0.5)
MUNICH = but(MUNICH, family=Family.HIGH_KILNED)
WHEAT = but(PALE_MALT, name="Wheat malt", power_lintner=165.0, kg=1.0, family=Family.WHEAT_MALT)
RYE = but(PALE_MALT, name="Rye malt", power_lintner=100.0, kg=1.0, family=Family.RYE_MALT)
ROAST = but(
    MASHED_CRYSTAL,
    name="Roast barley",
    kg=0.2,
    colour_lovibond=500.0,
    points_l_per_kg=210.0,
    steep_points_l_per_kg=175.0,
    family=Family.ROASTED,
)
MUNICH_EXTRACT = but(PALE_EXTRACT, name="Munich extract", colour_lovibond=8.0)
MUNICH_EXTRACT = but(MUNICH_EXTRACT, family=Family.MUNICH_EXTRACT)
WHEAT_EXTRACT = but(PALE_EXTRACT, name="Wheat extract", family=Family.WHEAT_EXTRACT)
RYE_EXTRACT = but(PALE_EXTRACT, name="Rye extract", family=Family.RYE_EXTRACT)
SYRUP = but(CORN_SUGAR, name="Brewing syrup", points_l_per_kg=300.0, family=Family.SYRUP)
GLUCOSE = but(CORN_SUGAR, name="Dextrose", family=Family.GLUCOSE)
DEXTRIN = but(CORN_SUGAR, name="Maltodextrin", fermentability=0.05, family=Family.DEXTRIN)
STOCK = (
    PALE_EXTRACT,
    MUNICH_EXTRACT,
    WHEAT_EXTRACT,
    RYE_EXTRACT,
    SYRUP,
    GLUCOSE,
    DEXTRIN,
    PALE_MALT,
    MUNICH,
    WHEAT,
    RYE,
)
SMALL_BOIL = {"pre_boil_volume_l": 13.0, "post_boil_volume_l": 11.0}


def all_grain(*lines, **changes):
    return replace(ALL_GRAIN, fermentables=lines, **changes)


def twin_of(*lines, stock=STOCK, partial_mash=True, **changes):
    return converted(all_grain(*lines, **changes), stock, partial_mash=partial_mash, **SMALL_BOIL)


def uses(draft):
    return {(line.name, line.use) for line in draft.brew.fermentables}


def kg(draft, name):
    return math.fsum(line.kg for line in draft.brew.fermentables if line.name == name)


@pytest.mark.parametrize(
    ("line", "name", "use"),
    [
        (PALE_MALT, "Dry pale extract", Use.BOIL),
        (MUNICH, "Munich extract", Use.BOIL),
        (WHEAT, "Wheat extract", Use.BOIL),
        (RYE, "Rye extract", Use.BOIL),
        (FLAKED_CORN, "Brewing syrup", Use.FLAME_OUT),
        (MASHED_CRYSTAL, "Crystal malt", Use.STEEP),
        (ROAST, "Roast barley", Use.STEEP),
    ],
)
def test_what_becomes_of_each_grain(line, name, use):
    (_, change) = twin_of(PALE_MALT, line).changes
    assert change.was == line
    assert [(put.name, put.use) for put in change.became] == [(name, use)]
    assert not change.body_differs


@pytest.mark.parametrize("line", [PALE_MALT, MUNICH, WHEAT, RYE, FLAKED_CORN])
def test_extract_and_syrup_stand_for_grain_by_points(line):
    (_, change) = twin_of(PALE_MALT, line).changes
    given = math.fsum(points_l(put, 0.75) for put in change.became)
    assert given == pytest.approx(points_l(line, 0.75))


def test_steeped_malt_keeps_its_weight_and_extract_makes_up_for_its_smaller_yield():
    draft = twin_of(PALE_MALT, MASHED_CRYSTAL)
    fewer = 0.3 * (284 * 0.75 - 150)
    assert kg(draft, "Crystal malt") == pytest.approx(0.3)
    assert kg(draft, "Dry pale extract") == pytest.approx((4.5 * 300 * 0.75 + fewer) / 366)
    assert any("meets the gravity: 19 litre-degrees" in reason for reason in draft.reasons)


def test_sugar_and_steeped_grain_stay_what_they_are():
    sugar, priming = but(CORN_SUGAR, use=Use.BOIL), but(CORN_SUGAR, use=Use.PRIMING)
    draft = twin_of(PALE_MALT, sugar, priming, CRYSTAL)
    assert {("Corn sugar", Use.BOIL), ("Corn sugar", Use.PRIMING)} <= uses(draft)
    assert CRYSTAL in draft.brew.fermentables


def test_wort_left_in_a_full_kettle_is_not_made_in_a_topped_up_one():
    full = all_grain(PALE_MALT, pre_boil_volume_l=26.0, post_boil_volume_l=22.0)
    draft = converted(full, STOCK, **SMALL_BOIL)
    assert kg(draft, "Dry pale extract") == pytest.approx(4.5 * 300 * 0.75 * 20 / 22 / 366)
    assert draft.parity.row("og").difference == pytest.approx(0)


def test_flaked_oats_are_mashed_with_as_much_base_malt_as_converts_them():
    draft = twin_of(PALE_MALT, FLAKED_OATS)
    assert draft.brew.kind is MethodKind.PARTIAL_MASH
    assert ("Flaked oats", Use.MASH) in uses(draft)
    power = figures(draft.brew).power
    assert power.value >= SOUND_LINTNER
    assert 0.5 < kg(draft, "Pale ale malt") < 1.0
    assert draft.parity.holds
    assert draft.warnings == ()


def test_a_draft_is_a_plain_extract_method_where_nothing_must_be_mashed():
    assert twin_of(PALE_MALT, MASHED_CRYSTAL).brew.kind is MethodKind.EXTRACT


def test_where_nobody_is_to_mash_the_body_differs():
    draft = twin_of(PALE_MALT, FLAKED_OATS, partial_mash=False)
    assert draft.brew.kind is MethodKind.EXTRACT
    change = draft.changes[1]
    assert change.body_differs
    assert [put.name for put in change.became] == ["Dry pale extract", "Maltodextrin"]
    assert "Flaked oats: body differs" in draft.warnings[0]
    assert draft.parity.holds


def test_a_stand_in_leaves_as_much_in_the_beer_as_what_it_stands_for():
    (_, change) = twin_of(PALE_MALT, FLAKED_OATS, partial_mash=False).changes
    goes = {"Dry pale extract": 0.97 * 0.76, "Maltodextrin": 0.05}
    left = math.fsum(points_l(put, 0.75) * (1 - goes[put.name]) for put in change.became)
    assert left == pytest.approx(0.5 * 270 * 0.75 * (1 - 0.85 * 0.76))


def test_grain_whose_extract_is_not_in_stock_is_mashed():
    draft = twin_of(PALE_MALT, RYE, stock=(PALE_EXTRACT,))
    assert draft.brew.kind is MethodKind.PARTIAL_MASH
    assert "no rye extract in stock" in draft.changes[1].reason
    assert draft.parity.holds


@pytest.mark.parametrize(
    ("line", "missing"), [(RYE, "rye extract"), (FLAKED_CORN, "syrup"), (MUNICH, "munich extract")]
)
def test_without_extract_and_without_a_mash_the_draft_is_refused_with_the_remedy(line, missing):
    with pytest.raises(ValueError, match=f"no {missing} in stock .*; enter one .* partial mash"):
        twin_of(PALE_MALT, line, stock=(PALE_EXTRACT,), partial_mash=False)


def test_crystal_malt_without_a_steep_yield_is_mashed_or_refused():
    bare = but(MASHED_CRYSTAL, steep_points_l_per_kg=0.0)
    assert ("Crystal malt", Use.MASH) in uses(twin_of(PALE_MALT, bare))
    with pytest.raises(ValueError, match="has no steep yield; give one in the catalogue"):
        twin_of(PALE_MALT, bare, partial_mash=False)


def test_grain_of_no_family_is_refused():
    with pytest.raises(ValueError, match="is of no family, so nothing can stand for it"):
        twin_of(PALE_MALT, but(MUNICH, family=None))


def test_a_grist_without_extract_in_stock_cannot_meet_the_gravity():
    with pytest.raises(ValueError, match="no pale extract in stock to meet the gravity"):
        twin_of(MASHED_CRYSTAL, stock=(WHEAT_EXTRACT,))


def test_among_several_extracts_the_nearest_in_colour_is_taken():
    dark = but(PALE_EXTRACT, name="Amber extract", colour_lovibond=10.0)
    light = but(PALE_EXTRACT, name="Light extract", colour_lovibond=3.0)
    draft = twin_of(PALE_MALT, stock=(dark, light))
    assert draft.changes[0].became[0].name == "Light extract"


def test_a_recipe_keeps_to_the_extract_that_it_has():
    own = but(PALE_EXTRACT, name="Own extract", colour_lovibond=6.0, kg=0.5)
    draft = twin_of(PALE_MALT, own)
    assert kg(draft, "Own extract") > 3
    assert kg(draft, "Dry pale extract") == 0


def test_a_colour_that_misses_is_met_with_less_of_the_dark_malt():
    amber = but(PALE_EXTRACT, name="Amber extract", colour_lovibond=14.0)
    draft = twin_of(PALE_MALT, MASHED_CRYSTAL, ROAST, stock=(amber,))
    plain = twin_of(PALE_MALT, MASHED_CRYSTAL, ROAST)
    assert kg(plain, "Roast barley") == pytest.approx(0.2)
    assert kg(draft, "Roast barley") < 0.15
    assert draft.parity.row("srm").difference == pytest.approx(0, abs=1e-9)
    assert draft.parity.row("og").difference == pytest.approx(0, abs=1e-9)
    assert any("Roast barley from 0.20 kg" in reason for reason in draft.reasons)


def test_a_colour_that_cannot_be_met_within_reason_is_told():
    amber = but(PALE_EXTRACT, name="Amber extract", colour_lovibond=40.0)
    draft = twin_of(PALE_MALT, MASHED_CRYSTAL, stock=(amber,))
    assert not draft.parity.row("srm").within
    assert kg(draft, "Crystal malt") == pytest.approx(0.15)
    assert "colour: no more of Crystal malt was moved than half" in draft.warnings
    assert any(warning.startswith("Colour: ") for warning in draft.warnings)


def test_without_dark_malt_a_colour_is_only_told():
    amber = but(PALE_EXTRACT, name="Amber extract", colour_lovibond=20.0)
    draft = twin_of(PALE_MALT, stock=(amber,))
    assert any("no crystal or roasted malt is there to move" in each for each in draft.warnings)


def test_extract_that_ferments_less_far_gets_sugar_in_place_of_some():
    heavy = but(PALE_EXTRACT, fermentability=0.92)
    assert not twin_of(PALE_MALT, stock=(heavy,)).parity.holds
    draft = twin_of(PALE_MALT, stock=(heavy, GLUCOSE, DEXTRIN))
    assert draft.parity.holds
    assert draft.warnings == ()
    assert any("of Dry pale extract as Dextrose" in reason for reason in draft.reasons)
    assert kg(draft, "Dextrose") > 0
    assert kg(draft, "Maltodextrin") == 0


def test_extract_that_ferments_further_gets_dextrin():
    thin = but(PALE_EXTRACT, fermentability=1.1)
    draft = twin_of(PALE_MALT, stock=(thin, GLUCOSE, DEXTRIN))
    assert draft.parity.row("fg").difference == pytest.approx(0, abs=1e-9)
    assert kg(draft, "Maltodextrin") > 0
    assert kg(draft, "Dextrose") == 0


def test_more_than_a_tenth_of_sugar_is_not_put_in_and_told():
    heavy = but(PALE_EXTRACT, fermentability=0.6)
    draft = twin_of(PALE_MALT, stock=(heavy, GLUCOSE))
    assert kg(draft, "Dextrose") * 384 == pytest.approx(0.1 * 4.5 * 300 * 0.75)
    assert not draft.parity.holds
    assert any("ferments less far than what it stands for; more sugar" in w for w in draft.warnings)


def test_without_sugar_in_stock_the_final_gravity_is_only_told():
    heavy = but(PALE_EXTRACT, fermentability=0.9)
    draft = twin_of(PALE_MALT, stock=(heavy,))
    assert any("no sugar in stock makes up for it" in warning for warning in draft.warnings)


def test_extract_too_many_for_a_small_boil_is_held_back_to_flame_out():
    draft = twin_of(PALE_MALT, MASHED_CRYSTAL)
    old, new = figures(ALL_GRAIN).boil_gravity.value, figures(draft.brew).boil_gravity.value
    assert new == pytest.approx(figures(all_grain(PALE_MALT, MASHED_CRYSTAL)).boil_gravity.value)
    assert new == pytest.approx(old, abs=0.005)
    assert ("Dry pale extract", Use.FLAME_OUT) in uses(draft)


def test_a_full_boil_takes_all_its_extract_from_the_start():
    draft = converted(all_grain(PALE_MALT), STOCK, pre_boil_volume_l=24.0, post_boil_volume_l=20.0)
    assert uses(draft) == {("Dry pale extract", Use.BOIL)}


def test_the_twin_has_hop_weights_of_its_own_for_the_same_bitterness():
    heavy = but(WHEAT, kg=4.5)
    draft = twin_of(heavy, but(FLAKED_OATS, kg=2.0), MASHED_CRYSTAL, CRYSTAL, ROAST)
    assert draft.parity.row("ibu").difference == pytest.approx(0, abs=1e-9)
    held = [
        (was.grams, now.grams)
        for was, now in zip(ALL_GRAIN.hops, draft.brew.hops, strict=True)
        if was.role is HopRole.HOLD_WEIGHT
    ]
    assert all(was == now for was, now in held)


def test_a_beer_whose_hops_all_hold_their_weight_is_told_why_it_misses():
    held = tuple(replace(hop, role=HopRole.HOLD_WEIGHT) for hop in ALL_GRAIN.hops)
    draft = converted(
        replace(
            EXTRACT, fermentables=(PALE_EXTRACT, but(CRYSTAL, family=Family.CRYSTAL)), hops=held
        ),
        STOCK,
        pre_boil_volume_l=24.0,
        post_boil_volume_l=20.0,
    )
    assert any("mark a boiled addition as absorb" in warning for warning in draft.warnings)


def test_wheat_extract_is_told_to_be_mixed():
    draft = twin_of(PALE_MALT, WHEAT)
    assert "usually made with barley malt too" in draft.warnings[0]


def test_a_mash_that_does_not_fit_the_kettle_is_told():
    draft = twin_of(but(PALE_MALT, kg=3.0), but(FLAKED_OATS, kg=2.5))
    assert any("use a larger one, or brew all-grain" in warning for warning in draft.warnings)


def test_a_mash_that_stays_weak_is_told():
    draft = twin_of(but(PALE_MALT, kg=0.4), MUNICH, FLAKED_OATS, MUNICH, stock=STOCK)
    assert draft.brew.kind is MethodKind.PARTIAL_MASH
    assert any("converts slowly" in warning for warning in draft.warnings)


def test_an_extract_method_goes_back_to_the_mash():
    steeped = but(CRYSTAL, family=Family.CRYSTAL)
    brew = replace(
        EXTRACT, fermentables=(PALE_EXTRACT, but(MUNICH_EXTRACT, kg=0.5), steeped, SYRUP)
    )
    draft = all_grain_draft(
        brew, STOCK, pre_boil_volume_l=25.0, post_boil_volume_l=22.0, mash_efficiency=0.7
    )
    assert draft.brew.kind is MethodKind.ALL_GRAIN
    assert uses(draft) == {
        ("Pale ale malt", Use.MASH),
        ("Munich malt", Use.MASH),
        ("Crystal malt", Use.MASH),
        ("Brewing syrup", Use.FLAME_OUT),
    }
    assert draft.parity.holds
    assert draft.brew.mash_efficiency == 0.7


@pytest.mark.parametrize(
    ("line", "words"),
    [
        (but(PALE_EXTRACT, family=None), "is an extract of no family that malt makes"),
        (RYE_EXTRACT, "no rye malt in stock to stand for Rye extract"),
    ],
)
def test_extract_without_a_malt_is_refused(line, words):
    brew = replace(EXTRACT, fermentables=(PALE_EXTRACT, line))
    with pytest.raises(ValueError, match=words):
        all_grain_draft(brew, (PALE_MALT,), pre_boil_volume_l=25.0, post_boil_volume_l=22.0)


def test_without_malt_in_bulk_there_is_no_all_grain_twin():
    brew = replace(EXTRACT, fermentables=(but(CRYSTAL, family=Family.CRYSTAL),))
    with pytest.raises(ValueError, match="no extract or malt in bulk"):
        all_grain_draft(brew, (PALE_MALT,), pre_boil_volume_l=25.0, post_boil_volume_l=22.0)


@given(
    st.floats(3, 6),
    st.floats(0.01, 0.6),
    st.floats(0, 1),
    st.floats(0.55, 0.9),
    st.floats(0.65, 0.85),
    st.booleans(),
)
def test_drafts_of_ordinary_grists_are_the_same_beer(
    pale, crystal, oats, efficiency, attenuation, partial_mash
):
    draft = twin_of(
        but(PALE_MALT, kg=pale),
        but(MASHED_CRYSTAL, kg=crystal),
        but(FLAKED_OATS, kg=oats),
        mash_efficiency=efficiency,
        attenuation=attenuation,
        partial_mash=partial_mash,
    )
    assert draft.parity.holds, draft.warnings
    assert all(line.kg > 0 for line in draft.brew.fermentables)


@given(st.floats(3, 6), st.floats(0.01, 0.5))
def test_there_and_back_is_the_same_beer(pale, crystal):
    brew = all_grain(but(PALE_MALT, kg=pale), but(MASHED_CRYSTAL, kg=crystal))
    there = converted(brew, STOCK, **SMALL_BOIL).brew
    back = all_grain_draft(
        there,
        STOCK,
        pre_boil_volume_l=brew.pre_boil_volume_l,
        post_boil_volume_l=brew.post_boil_volume_l,
    ).brew
    assert [line.kg for line in back.fermentables] == pytest.approx(
        [line.kg for line in brew.fermentables]
    )
    assert [hop.grams for hop in back.hops] == pytest.approx([hop.grams for hop in brew.hops])
