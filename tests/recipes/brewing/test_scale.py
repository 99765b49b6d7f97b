from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.figures import figures, hop_additions
from recipes.brewing.roles import HopRole
from recipes.brewing.scale import scaled
from tests.recipes.brewing.brews import ALL_GRAIN, BITTERING, DRY_HOP, EXTRACT, LATE

sizes = st.floats(4, 60)
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
    assert "mash efficiency: 75% to 60%" in worse.reasons[1]


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
    with pytest.raises(ValueError, match="IBU too bitter at this size"):
        scaled(brew, finished_volume_l=20, pre_boil_volume_l=23, post_boil_volume_l=20)


def test_a_size_of_nothing_is_refused():
    with pytest.raises(ValueError, match="finished volume must be more than zero"):
        scaled(EXTRACT, finished_volume_l=0)
