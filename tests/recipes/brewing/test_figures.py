from __future__ import annotations

import json
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.working import Working
from recipes.brewing.bitterness import bitterness, utilisation
from recipes.brewing.figures import Hop, figures, hop_additions, ibu_per_gram_by_minute
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.brewing.stand import Stand, equivalent_minutes
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    BASE_MALT,
    BITTERING,
    CORN_SUGAR,
    CRYSTAL,
    DRY_EXTRACT,
    DRY_HOP,
    EXTRACT,
    LATE,
    but,
)

STAND = Stand(minutes=20, from_c=95, to_c=80)
FIRST_WORT = Hop(name="First wort", grams=20.0, alpha=0.06, minutes=0, use=Use.FIRST_WORT)
FLAME_OUT = Hop(name="Flame-out", grams=30.0, alpha=0.06, minutes=0, use=Use.FLAME_OUT)
WHIRLPOOL = Hop(name="Whirlpool", grams=30.0, alpha=0.06, minutes=10, use=Use.WHIRLPOOL)
MOVED = replace(LATE, role=HopRole.MOVE_TIME, minutes=15, least_minutes=10, most_minutes=20)


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


def test_bitterness_is_counted_in_the_beer_and_colour_in_the_wort():
    generous = figures(replace(ALL_GRAIN, pre_boil_volume_l=26.0, post_boil_volume_l=22.0))
    in_beer = sum(
        part.value
        for part in bitterness(
            hop_additions(replace(ALL_GRAIN, pre_boil_volume_l=26.0, post_boil_volume_l=22.0)), 20.0
        ).parts
    )
    assert generous.ibu.value == pytest.approx(in_beer)
    mcu = 4.5 * 2.0 * 8.3454 / 22
    assert generous.srm.value == pytest.approx(1.4922 * mcu**0.6859, rel=1e-4)


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


def counted(brew):
    """Return the minutes of boiling that each hop counts for."""
    return [addition.counted_minutes for addition in hop_additions(brew)]


def test_a_stand_counts_for_every_hop_in_the_kettle_and_for_no_dry_hop():
    stood = replace(EXTRACT, hops=(*EXTRACT.hops, FIRST_WORT, FLAME_OUT), stand=STAND)
    on = equivalent_minutes(STAND)
    assert counted(stood) == pytest.approx([60 + on, 15 + on, 5 + on, 0, 60 + on, on])


def test_without_a_stand_hops_with_the_heat_off_give_nothing():
    off = replace(EXTRACT, hops=(FLAME_OUT, WHIRLPOOL))
    assert figures(off).ibu.value == 0


@pytest.mark.parametrize(("minutes", "stood"), [(10, 10), (0, 20), (20, 20), (35, 20)])
def test_whirlpool_hops_stand_for_their_minutes_and_at_most_for_the_stand(minutes, stood):
    brew = replace(EXTRACT, hops=(replace(WHIRLPOOL, minutes=minutes),), stand=STAND)
    assert counted(brew) == [equivalent_minutes(STAND, stood)]


def test_a_stand_shows_its_working_with_each_hop_that_meets_it():
    stood = replace(EXTRACT, hops=(BITTERING, WHIRLPOOL, DRY_HOP), stand=STAND)
    bittering, whirlpool, dry = figures(stood).ibu.parts
    assert [part.terms[0].value for part in (*bittering.parts, *whirlpool.parts)] == [20, 10]
    assert dry.parts == ()
    assert any("our own" in note for note in whirlpool.notes)
    stored = json.loads(json.dumps(whirlpool.as_json(), allow_nan=False))
    assert Working.from_json(stored) == whirlpool


def test_hops_meet_the_gravity_of_their_boil_whether_a_stand_follows_or_not():
    late = replace(
        EXTRACT,
        fermentables=(but(DRY_EXTRACT, minutes=5), CRYSTAL),
        hops=(*EXTRACT.hops, FLAME_OUT),
    )
    gravities = [addition.boil_gravity for addition in hop_additions(late)]
    stood = [addition.boil_gravity for addition in hop_additions(replace(late, stand=STAND))]
    assert stood == gravities


@given(st.floats(1, 90), st.tuples(st.floats(40, 100), st.floats(40, 100)), st.floats(0, 60))
def test_a_stand_never_takes_bitterness_away(minutes, temperatures, late):
    to_c, from_c = sorted(temperatures)
    brew = replace(
        EXTRACT,
        fermentables=(but(DRY_EXTRACT, minutes=late), CRYSTAL),
        hops=(*EXTRACT.hops, FIRST_WORT, FLAME_OUT, WHIRLPOOL),
    )
    stood = replace(brew, stand=Stand(minutes=minutes, from_c=from_c, to_c=to_c))
    for before, after in zip(figures(brew).ibu.parts, figures(stood).ibu.parts, strict=True):
        assert after.value >= before.value


def test_first_wort_hops_boil_the_whole_boil_whatever_minutes_they_carry():
    brew = replace(EXTRACT, hops=(FIRST_WORT,), boil_minutes=75.0)
    assert counted(brew) == [75]
    (part,) = figures(brew).ibu.parts
    assert part.notes == ("First-wort hops are counted as boiled for the whole boil.",)


def test_first_wort_hops_count_what_the_method_says():
    brew = replace(
        EXTRACT,
        fermentables=(but(DRY_EXTRACT, minutes=15), CRYSTAL),
        hops=(FIRST_WORT,),
        first_wort_minutes=20.0,
    )
    (addition,) = hop_additions(brew)
    (part,) = figures(brew).ibu.parts
    assert addition.counted_minutes == 20
    assert "counted as boiled for 20 min, as the method says" in part.notes[0]
    assert addition.boil_gravity == figures(brew).boil_gravity.value


def test_a_negative_time_for_first_wort_hops_is_refused():
    with pytest.raises(ValueError, match="time of first-wort hops cannot be less than zero"):
        figures(replace(EXTRACT, hops=(FIRST_WORT,), first_wort_minutes=-1.0))


def test_a_hop_that_moves_its_time_knows_its_bitterness_at_each_minute():
    brew = replace(EXTRACT, hops=(BITTERING, MOVED))
    table = ibu_per_gram_by_minute(brew, 1)
    assert list(table) == list(range(10, 21))
    assert table[15] == hop_additions(brew)[1].ibu_per_gram(20)
    gravity = figures(brew).boil_gravity.value
    assert table[20] == pytest.approx(utilisation(gravity, 20) * 1000 / 20)


def test_a_moved_hop_meets_the_late_extract_and_the_stand_of_its_new_time():
    late = replace(
        EXTRACT,
        fermentables=(but(DRY_EXTRACT, minutes=12), CRYSTAL),
        hops=(MOVED,),
        stand=STAND,
    )
    table = ibu_per_gram_by_minute(late, 0)
    for minutes, ibu in table.items():
        (moved,) = hop_additions(replace(late, hops=(replace(MOVED, minutes=minutes),)))
        assert ibu == moved.ibu_per_gram(20)
    assert list(table.values()) == sorted(table.values())


@given(st.floats(0, 60), st.booleans())
def test_a_longer_boil_never_lowers_the_bitterness_of_a_hop_that_moves(extract_minutes, stands):
    brew = replace(
        EXTRACT,
        fermentables=(but(DRY_EXTRACT, minutes=extract_minutes), CRYSTAL),
        hops=(replace(MOVED, least_minutes=0, most_minutes=60),),
        stand=STAND if stands else None,
    )
    by_minute = list(ibu_per_gram_by_minute(brew, 0).values())
    assert by_minute == sorted(by_minute)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"least_minutes": None}, "give its least and its most minutes"),
        ({"most_minutes": None}, "give its least and its most minutes"),
        ({"least_minutes": 30}, "cannot boil from 30 to 20 minutes"),
        ({"least_minutes": -5}, "cannot boil from -5 to 20 minutes"),
        ({"most_minutes": 61}, "give limits from 0 to the 60 minutes of the boil"),
        ({"use": Use.FLAME_OUT}, "cannot move its time, because it goes in at flame_out"),
    ],
)
def test_a_hop_moves_its_time_within_the_boil_or_not_at_all(change, what):
    brew = replace(EXTRACT, hops=(replace(MOVED, **change),))
    with pytest.raises(ValueError, match=what):
        ibu_per_gram_by_minute(brew, 0)
