from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.bitterness import (
    HopAddition,
    bitterness,
    form_factor_between,
    ibu_per_gram,
    utilisation,
)
from recipes.brewing.roles import Use

HOP = HopAddition(name="Hop", grams=28.0, alpha=0.06, minutes=60, boil_gravity=1.050)

alphas = st.floats(0, 0.3)
minutes = st.floats(0, 120)
gravities = st.floats(1.0, 1.13)


@given(alphas, alphas, minutes, gravities)
def test_more_alpha_never_lowers_bitterness(one, other, boiled, gravity):
    weak, strong = (
        replace(HOP, alpha=alpha, minutes=boiled, boil_gravity=gravity).ibu(20)
        for alpha in sorted((one, other))
    )
    assert weak <= strong


@given(minutes, minutes, gravities)
def test_a_longer_boil_never_lowers_bitterness(one, other, gravity):
    short, long = sorted((one, other))
    assert utilisation(gravity, short) <= utilisation(gravity, long)


@given(gravities, gravities, minutes)
def test_a_heavier_boil_never_raises_bitterness(one, other, boiled):
    light, heavy = sorted((one, other))
    assert utilisation(heavy, boiled) <= utilisation(light, boiled)


@given(st.lists(st.tuples(gravities, minutes, st.floats(1, 100)), min_size=1, max_size=20))
def test_many_brews_at_once_give_what_each_gives_alone(brews):
    gravity, boiled, volume_l = (np.array(column) for column in zip(*brews, strict=True))
    alone = [utilisation(sg, minutes) for sg, minutes, _ in brews]
    np.testing.assert_allclose(utilisation(gravity, boiled), alone, rtol=1e-12, atol=1e-15)
    alone = [ibu_per_gram(sg, minutes, litres, 1.1) for sg, minutes, litres in brews]
    at_once = ibu_per_gram(gravity, boiled, volume_l, 1.1)
    np.testing.assert_allclose(at_once, alone, rtol=1e-12, atol=1e-15)


def test_one_impossible_brew_among_many_is_refused():
    with pytest.raises(ValueError, match="boil time cannot be less than zero, and was -1"):
        utilisation(np.array([1.05, 1.05]), np.array([60.0, -1.0]))
    with pytest.raises(ValueError, match="finished volume must be more than zero, not 0"):
        ibu_per_gram(np.array([1.05]), np.array([60.0]), np.array([0.0]))


def test_one_brew_gives_a_plain_number():
    assert type(utilisation(1.05, 60)) is float
    assert type(ibu_per_gram(1.05, 60, 20)) is float


@given(st.lists(st.tuples(st.floats(0, 200), alphas, minutes), max_size=6))
def test_a_beer_is_as_bitter_as_its_additions_together(hops):
    additions = [
        replace(HOP, grams=grams, alpha=alpha, minutes=boiled) for grams, alpha, boiled in hops
    ]
    ibu = bitterness(additions, 20)
    assert ibu.value == pytest.approx(sum(addition.ibu(20) for addition in additions))
    assert len(ibu.parts) == len(additions)


@pytest.mark.parametrize("use", [Use.FLAME_OUT, Use.WHIRLPOOL, Use.DRY_HOP, Use.FERMENTER])
def test_hops_that_do_not_boil_give_nothing_whatever_minutes_they_carry(use):
    (part,) = bitterness((replace(HOP, use=use),), 20).parts
    assert part.value == 0
    assert part.notes


@pytest.mark.parametrize("use", [Use.MASH, Use.STEEP, Use.PRIMING])
def test_hops_go_nowhere_else(use):
    with pytest.raises(ValueError, match=f"not counted in the {use.value}"):
        bitterness((replace(HOP, use=use),), 20)


def test_the_working_of_an_addition_gives_its_value():
    (part,) = bitterness((replace(HOP, form_factor=1.1),), 20).parts
    terms = {term.name: term.value for term in part.terms}
    by_hand = (
        terms["utilisation"]
        * terms["alpha"]
        / 100
        * terms["weight"]
        * terms["form factor"]
        * 1000
        / terms["finished volume"]
    )
    assert part.value == pytest.approx(by_hand)


@pytest.mark.parametrize("use", [Use.FIRST_WORT, Use.BOIL, Use.FLAME_OUT, Use.WHIRLPOOL])
@given(stood=st.floats(0, 60), boiled=minutes)
def test_a_hop_stand_never_takes_bitterness_away(use, stood, boiled):
    addition = replace(HOP, use=use, minutes=boiled)
    assert replace(addition, stand_minutes=stood).ibu(20) >= addition.ibu(20)


def test_time_in_a_stand_is_added_to_time_boiled():
    (part,) = bitterness((replace(HOP, minutes=20, stand_minutes=10),), 20).parts
    terms = {term.name: term.value for term in part.terms}
    assert terms["boil time"] == 20
    assert terms["hop stand as boil time"] == 10
    assert terms["time counted"] == 30
    assert terms["utilisation"] == utilisation(1.050, 30)
    assert "our own" in part.notes[-1]


@pytest.mark.parametrize("use", [Use.DRY_HOP, Use.FERMENTER])
def test_dry_hops_do_not_stand_in_hot_wort(use):
    (part,) = bitterness((replace(HOP, use=use, stand_minutes=10),), 20).parts
    assert part.value == 0


def test_a_form_factor_applies_only_between_forms():
    factors = {"pellet": 1.1, "cone": 0.9, "plug": 0.95}
    assert form_factor_between("pellet", "pellet", factors) == 1.0
    assert form_factor_between("pellet", "cone", factors) == pytest.approx(0.9 / 1.1)
    assert form_factor_between("cone", "pellet", factors) == pytest.approx(1.1 / 0.9)
    assert form_factor_between("pellet", "plug") == 1.0


@pytest.mark.parametrize(
    ("factors", "what"),
    [
        ({"pellet": 1.0}, "no form factor for hops as cone; known are pellet"),
        ({"pellet": 1.0, "cone": 0.0}, "form factor of cone must be more than zero"),
    ],
)
def test_a_form_without_a_factor_is_refused(factors, what):
    with pytest.raises(ValueError, match=what):
        form_factor_between("pellet", "cone", factors)


def test_a_gram_of_pure_alpha_counts_what_was_isomerised():
    assert ibu_per_gram(1.050, 60, 20) == pytest.approx(utilisation(1.050, 60) * 50)
    assert replace(HOP, alpha=0.1).ibu_per_gram(20) == HOP.ibu_per_gram(20)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"alpha": 6.0}, "alpha acid of Hop is a share"),
        ({"minutes": -1}, "boil time cannot be less than zero"),
        ({"grams": -1.0}, "weight of Hop cannot be less than zero"),
        ({"boil_gravity": 0.0}, "boil gravity must be more than zero"),
        ({"stand_minutes": -1.0}, "time in the hop stand cannot be less than zero"),
        ({"form_factor": 0.0}, "form factor must be more than zero"),
    ],
)
def test_impossible_additions_are_refused(change, what):
    with pytest.raises(ValueError, match=what):
        bitterness((replace(HOP, **change),), 20)


def test_an_empty_fermenter_is_refused():
    with pytest.raises(ValueError, match="finished volume must be more than zero"):
        bitterness((), 0)
