from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ageing.yeast import (
    DryStretch,
    LiquidStretch,
    ViabilityRule,
    active_share,
    dry_activity,
    viability,
    viability_after,
    viable_share,
    warmth_factor,
    yearly_loss,
)

rules = st.sampled_from(ViabilityRule)
stretches = st.builds(LiquidStretch, days=st.integers(0, 400), temperature_c=st.floats(-20, 40))
lives = st.lists(stretches, max_size=4)


@given(rules, st.integers(0, 2000))
def test_yeast_never_gets_younger(rule, days):
    assert 0 <= viable_share(rule, days + 1) <= viable_share(rule, days) <= 1


def test_a_very_old_pack_is_dead_and_not_less():
    assert viability(ViabilityRule.LINEAR, 400).value == 0


@given(rules, st.integers(0, 100), st.integers(0, 100))
def test_a_count_that_finds_what_the_rule_says_changes_nothing(rule, before, after):
    first, later = (LiquidStretch(days=days, temperature_c=4.0) for days in (before, after))
    counted = viability_after(rule, [first]).value / 100
    assert viability_after(rule, [later], at_start=counted).value == pytest.approx(
        viability_after(rule, [first, later]).value
    )


@pytest.mark.parametrize("rule", ViabilityRule)
def test_the_working_names_the_loss_of_its_rule(rule):
    terms = {term.name: term for term in viability(rule, 45).terms}
    by_hand = {
        ViabilityRule.LINEAR: 100 * (1 - terms["loss"].value / 100 * 45),
        ViabilityRule.EXPONENTIAL: 100 * (1 - terms["loss"].value / 100) ** (45 / 30),
    }
    assert viability(rule, 45).value == pytest.approx(by_hand[rule])


@given(st.floats(-20, 45), st.floats(-20, 45))
def test_warmth_never_keeps_dry_yeast(one, other):
    cool, warm = sorted((one, other))
    assert 0 <= yearly_loss(cool) <= yearly_loss(warm) <= 1


@given(
    st.lists(
        st.builds(DryStretch, days=st.integers(0, 1000), temperature_c=st.floats(-20, 40)),
        max_size=5,
    )
)
def test_dry_yeast_never_gains(life):
    assert 0 <= active_share(life) <= 1
    assert active_share([*life, DryStretch(days=30, temperature_c=20)]) <= active_share(life)


def test_each_place_counts_at_its_own_temperature():
    life = (DryStretch(days=365, temperature_c=4), DryStretch(days=365, temperature_c=20))
    activity = dry_activity(life)
    assert activity.value == pytest.approx(100 * 0.955 * 0.80)
    assert [part.value for part in activity.parts] == pytest.approx([0.955, 0.80])


@pytest.mark.parametrize(
    ("celsius", "word"), [(12, "interpolated"), (-18, "Below 4 C"), (30, "extrapolation")]
)
def test_what_is_not_published_is_said(celsius, word):
    notes = dry_activity((DryStretch(days=30, temperature_c=celsius),)).notes
    assert any(word in note for note in notes)


def test_halfway_between_the_published_temperatures_the_rate_is_the_geometric_mean():
    cold, room, half = (-math.log(1 - yearly_loss(celsius)) for celsius in (4, 20, 12))
    assert half == pytest.approx((cold * room) ** 0.5)


def test_a_few_hot_days_on_the_way_do_not_kill_a_sachet():
    assert 0.95 < active_share((DryStretch(days=5, temperature_c=45),)) < 0.99


@given(rules)
def test_an_array_of_days_gives_each_day_its_share(rule):
    days = np.arange(0.0, 300.0)
    each = [viable_share(rule, float(day)) for day in days]
    assert viable_share(rule, days) == pytest.approx(each)


@given(rules, lives, stretches)
def test_older_yeast_is_never_more_alive(rule, life, more):
    alive = viability_after(rule, life).value
    assert 0 <= viability_after(rule, [*life, more]).value <= alive <= 100


@given(rules, lives, st.integers(0, 30), st.integers(0, 30), st.floats(-20, 40))
def test_a_longer_way_never_leaves_more_alive(rule, life, days, more, celsius):
    short, long = (
        [*life, LiquidStretch(days=each, temperature_c=celsius, name="Transit")]
        for each in (days, days + more)
    )
    assert viability_after(rule, long).value <= viability_after(rule, short).value


@given(rules, st.integers(0, 60), st.floats(-20, 40), st.floats(-20, 40))
def test_a_warmer_way_never_leaves_more_alive(rule, days, one, other):
    cool, warm = (
        viability_after(rule, [LiquidStretch(days=days, temperature_c=celsius)]).value
        for celsius in sorted((one, other))
    )
    assert warm <= cool


def test_each_part_of_the_way_counts_at_its_own_temperature():
    working = viability_after(
        ViabilityRule.LINEAR,
        [
            LiquidStretch(days=20, temperature_c=4.0),
            LiquidStretch(days=3, temperature_c=24.0, name="Transit"),
            LiquidStretch(days=10, temperature_c=14.0, name="Customer's shelf"),
        ],
        at_start=0.96,
    )
    assert {part.name: part.value for part in working.parts} == {
        "Storage": 20.0, "Transit": 12.0, "Customer's shelf": 20.0,
    }  # fmt: skip
    assert working.value == pytest.approx(96 - 0.7 * 52)
    terms = {term.name: term.value for term in working.terms}
    assert (terms["age"], terms["sum of parts"]) == (33.0, 52.0)
    assert "our own choice" in working.parts[1].source


def test_refrigerated_all_its_life_a_pack_ages_by_the_published_rule_alone():
    by_stretch = viability_after(ViabilityRule.LINEAR, [LiquidStretch(days=45, temperature_c=4.0)])
    assert by_stretch == viability(ViabilityRule.LINEAR, 45)
    assert by_stretch.notes == ()


@pytest.mark.parametrize(("celsius", "word"), [(8, "our own choice"), (1, "Below 4 C")])
def test_what_the_rule_does_not_say_of_liquid_yeast_is_said(celsius, word):
    life = [LiquidStretch(days=30, temperature_c=celsius)]
    assert any(word in note for note in viability_after(ViabilityRule.LINEAR, life).notes)


def test_ice_keeps_yeast_no_better_than_the_refrigerator_and_heat_is_refused():
    assert warmth_factor(-10.0) == warmth_factor(4.0) == 1.0
    assert warmth_factor(40.0) == pytest.approx(2**3.6)
    with pytest.raises(ValueError, match="no store for liquid yeast"):
        warmth_factor(41.0)
    with pytest.raises(ValueError, match="no store for liquid yeast"):
        LiquidStretch(days=1, temperature_c=float("nan"))


def test_dry_yeast_that_was_measured_goes_on_from_there():
    life = (DryStretch(days=365, temperature_c=20),)
    assert dry_activity(life, 0.9).value == pytest.approx(100 * 0.9 * 0.80)
    with pytest.raises(ValueError, match="activity at the start is a share"):
        dry_activity(life, 90.0)


def test_impossible_yeast_is_refused():
    with pytest.raises(ValueError, match="age of the yeast"):
        viability(ViabilityRule.LINEAR, -1)
    with pytest.raises(ValueError, match="viability at the start is a share"):
        viability_after(ViabilityRule.LINEAR, [], at_start=96)
    with pytest.raises(ValueError, match="days in storage"):
        DryStretch(days=-1, temperature_c=4)
    with pytest.raises(ValueError, match="no store for dry yeast"):
        DryStretch(days=1, temperature_c=60)
