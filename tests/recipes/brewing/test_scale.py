from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.figures import NO_BREAK
from boxwort.quantities import MG_PER_G, Measure
from recipes.brewing.bill import BillLine, bill
from recipes.brewing.figures import figures, hop_additions
from recipes.brewing.roles import HopRole, Use
from recipes.brewing.scale import LARGEST_L, SMALLEST_L, scaled
from recipes.brewing.stand import Stand
from tests.recipes.brewing.brews import (
    ALL_GRAIN,
    BITTERING,
    CORN_SUGAR,
    DRY_HOP,
    EXTRACT,
    LATE,
    but,
)

sizes = st.floats(SMALLEST_L, LARGEST_L)
brews = st.sampled_from([ALL_GRAIN, EXTRACT])


@given(brews, sizes)
def test_the_beer_is_the_same_at_any_size(brew, litres):
    old, new = figures(brew), figures(scaled(brew, finished_volume_l=litres).brew)
    assert new.og.value == pytest.approx(old.og.value)
    assert new.fg.value == pytest.approx(old.fg.value)
    assert new.srm.value == pytest.approx(old.srm.value)
    assert new.ibu.value == pytest.approx(old.ibu.value)


@given(brews, sizes, st.floats(1.02, 1.5))
def test_there_and_back_is_where_we_were(brew, litres, boiled_down):
    there = scaled(
        brew,
        finished_volume_l=litres,
        pre_boil_volume_l=litres * boiled_down,
        post_boil_volume_l=litres,
        mash_efficiency=0.65,
    ).brew
    back = scaled(
        there,
        finished_volume_l=brew.finished_volume_l,
        pre_boil_volume_l=brew.pre_boil_volume_l,
        post_boil_volume_l=brew.post_boil_volume_l,
        mash_efficiency=brew.mash_efficiency,
    ).brew
    assert [hop.grams for hop in back.hops] == pytest.approx([hop.grams for hop in brew.hops])
    assert [line.kg for line in back.fermentables] == pytest.approx(
        [line.kg for line in brew.fermentables]
    )


def test_a_lighter_boil_takes_less_bittering_hop_and_the_same_late_hop_per_litre():
    full = scaled(EXTRACT, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20).brew
    old = {hop.name: hop.grams for hop in EXTRACT.hops}
    new = {hop.name: hop.grams for hop in full.hops}
    assert new["Bittering"] < old["Bittering"]
    assert new["Flavour"] < old["Flavour"]
    assert (new["Late"], new["Dry hop"]) == (old["Late"], old["Dry hop"])
    assert figures(full).ibu.value == pytest.approx(figures(EXTRACT).ibu.value)


def test_hops_that_hold_bitterness_keep_their_own():
    full = scaled(EXTRACT, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20).brew
    assert hop_additions(full)[1].ibu(20) == pytest.approx(hop_additions(EXTRACT)[1].ibu(20))


def test_several_that_absorb_share_by_their_bitterness():
    second = replace(BITTERING, name="Second", grams=10.0)
    brew = replace(EXTRACT, hops=(BITTERING, second, LATE))
    first, other, _ = scaled(
        brew, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20
    ).brew.hops
    assert first.grams / other.grams == pytest.approx(BITTERING.grams / second.grams)


def test_a_worse_mash_takes_more_grain():
    worse = scaled(ALL_GRAIN, finished_volume_l=20, mash_efficiency=0.60)
    assert worse.brew.fermentables[0].kg == pytest.approx(4.5 * 0.75 / 0.60)
    assert "mash efficiency: 75 % to 60 %" in worse.reasons[1].replace(NO_BREAK, " ")


def test_every_hop_says_why_it_moved():
    reasons = scaled(EXTRACT, finished_volume_l=10).reasons
    assert reasons[0] == "fermentables follow the wort: 20 L to 10 L"
    assert "Dry hop: 30.0 g to 15.0 g, holds its weight per litre" in reasons


def test_a_brew_without_hops_scales_too():
    assert scaled(replace(EXTRACT, hops=()), finished_volume_l=10).brew.hops == ()


def test_hops_that_hold_their_weight_are_not_corrected():
    brew = replace(EXTRACT, hops=(LATE, DRY_HOP))
    full = scaled(brew, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20).brew
    assert full.hops == brew.hops


def test_an_absorbing_hop_that_never_boils_is_refused():
    brew = replace(EXTRACT, hops=(replace(DRY_HOP, role=HopRole.ABSORB), LATE))
    with pytest.raises(ValueError, match="mark a boiled addition as absorb"):
        scaled(brew, finished_volume_l=10)


def test_hops_that_alone_are_too_bitter_are_refused():
    little = replace(BITTERING, grams=0.5)
    much = replace(LATE, minutes=20, grams=200.0)
    brew = replace(EXTRACT, hops=(little, much))
    with pytest.raises(ValueError, match="IBU too bitter for this boil"):
        scaled(brew, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20)


def test_a_size_of_nothing_is_refused():
    with pytest.raises(ValueError, match="finished volume must be more than zero"):
        scaled(EXTRACT, finished_volume_l=0)


@pytest.mark.parametrize("litres", [1.0, 3.7, 40.5, 100.0])
def test_a_size_that_is_no_kit_is_refused(litres):
    with pytest.raises(ValueError, match=r"choose one from 3\.8 L \(a US gallon\) to 40 L"):
        scaled(EXTRACT, finished_volume_l=litres)


@pytest.mark.parametrize("litres", [3.785411784, 40.0])
def test_a_us_gallon_and_forty_litres_are_kits(litres):
    assert scaled(EXTRACT, finished_volume_l=litres).brew.finished_volume_l == litres


def test_pouches_that_move_their_time_keep_it_and_the_others_make_up_for_them():
    moved = replace(LATE, role=HopRole.MOVE_TIME, least_minutes=2, most_minutes=10)
    brew = replace(EXTRACT, hops=(BITTERING, moved))
    found = scaled(brew, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20)
    assert found.brew.hops[1] == moved
    assert found.brew.hops[0].grams < BITTERING.grams
    assert figures(found.brew).ibu.value == pytest.approx(figures(brew).ibu.value)
    assert found.lines[-1].reason == "holds its weight per litre and its minutes"


def test_priming_sugar_follows_the_beer_and_sugar_in_the_kettle_the_wort():
    brew = replace(
        ALL_GRAIN,
        fermentables=(*ALL_GRAIN.fermentables, CORN_SUGAR, but(CORN_SUGAR, use=Use.PRIMING)),
    )
    left_behind = scaled(brew, finished_volume_l=10, pre_boil_volume_l=14, post_boil_volume_l=12)
    _, kettle, priming = left_behind.brew.fermentables
    assert kettle.kg == pytest.approx(0.5 * 12 / 20)
    assert priming.kg == pytest.approx(0.5 * 10 / 20)
    assert left_behind.lines[2].reason == "follows the beer: 20 L to 10 L"


def test_each_line_is_told_with_its_amounts_and_its_reason():
    found = scaled(ALL_GRAIN, finished_volume_l=10, mash_efficiency=0.6)
    lines = {line.name: line for line in found.lines}
    assert len(lines) == len(ALL_GRAIN.fermentables) + len(ALL_GRAIN.hops)
    malt, dry_hop = lines["Pale malt"], lines["Dry hop"]
    assert (malt.before, malt.unit) == (4.5, "kg")
    assert malt.after == pytest.approx(4.5 / 2 * 0.75 / 0.6)
    assert (
        malt.reason.replace(NO_BREAK, " ")
        == "follows the wort: 20 L to 10 L; and the mash efficiency: 75 % to 60 %"
    )
    assert (dry_hop.before, dry_hop.after, dry_hop.unit) == (30.0, 15.0, "g")


def test_hops_that_stand_are_counted_with_their_stand_at_the_new_size():
    flame_out = replace(LATE, use=Use.FLAME_OUT, minutes=0, grams=40.0)
    stand = Stand(minutes=20, from_c=95, to_c=80)
    brew = replace(EXTRACT, hops=(BITTERING, flame_out), stand=stand)
    found = scaled(brew, finished_volume_l=10, pre_boil_volume_l=13, post_boil_volume_l=10)
    assert figures(found.brew).ibu.value == pytest.approx(figures(brew).ibu.value)
    assert found.brew.hops[1].grams == 20.0
    assert hop_additions(found.brew)[1].ibu(10) > hop_additions(brew)[1].ibu(20)
    assert any("hop stand" in reason for reason in found.reasons)


@given(brews, sizes, st.integers(2, 60), st.sampled_from([100, 500, 1000]))
def test_so_many_kits_take_so_many_times_one_kit(brew, litres, kits, resolution):
    lines = [
        BillLine(
            key=str(place),
            code=hop.name,
            measure=Measure.MASS,
            quantity=hop.grams * MG_PER_G,
            resolution=resolution,
            overage=0.0,
            part="hops",
        )
        for place, hop in enumerate(scaled(brew, finished_volume_l=litres).brew.hops)
    ]
    ones, many = bill(lines, kits=1), bill(lines, kits=kits)
    assert [row.total for row in many] == [kits * row.total for row in ones]


@given(brews, sizes, sizes)
def test_a_kit_of_twice_the_size_takes_twice_as_much(brew, litres, other):
    small = scaled(brew, finished_volume_l=litres).brew
    large = scaled(brew, finished_volume_l=other).brew
    assert [hop.grams / other for hop in large.hops] == pytest.approx(
        [hop.grams / litres for hop in small.hops]
    )
    assert [line.kg / other for line in large.fermentables] == pytest.approx(
        [line.kg / litres for line in small.fermentables]
    )
