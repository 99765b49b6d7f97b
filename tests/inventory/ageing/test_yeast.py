from __future__ import annotations

from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ageing.yeast import (
    DryStretch,
    ViabilityRule,
    active_share,
    dry_activity,
    last_day_serving,
    viability,
    viable_share,
    yearly_loss,
)

PACKAGED = date(2025, 3, 1)
rules = st.sampled_from(ViabilityRule)


def last_day(needed, *, packs=1, rule=ViabilityRule.LINEAR):
    return last_day_serving(
        packaged_on=PACKAGED, packs=packs, cells_per_pack=100e9, cells_needed=needed, rule=rule
    )


@given(rules, st.integers(0, 2000))
def test_yeast_never_gets_younger(rule, days):
    assert 0 <= viable_share(rule, days + 1) <= viable_share(rule, days) <= 1


def test_a_very_old_pack_is_dead_and_not_less():
    assert viability(ViabilityRule.LINEAR, 400).value == 0


def test_viability_starts_from_what_it_was_at_packaging():
    assert viability(ViabilityRule.LINEAR, 10, at_packaging=0.96).value == pytest.approx(89.28)


@pytest.mark.parametrize("rule", ViabilityRule)
def test_the_working_names_the_loss_of_its_rule(rule):
    terms = {term.name: term for term in viability(rule, 45).terms}
    by_hand = {
        ViabilityRule.LINEAR: 100 * (1 - terms["loss"].value / 100 * 45),
        ViabilityRule.EXPONENTIAL: 100 * (1 - terms["loss"].value / 100) ** (45 / 30),
    }
    assert viability(rule, 45).value == pytest.approx(by_hand[rule])


@given(rules, st.integers(1, 4), st.floats(1e9, 4e11))
def test_the_last_day_serves_and_the_next_does_not(rule, packs, needed):
    last = last_day(needed, packs=packs, rule=rule)
    if last is None:
        assert packs * 100e9 < needed
        return
    age = (last - PACKAGED).days
    assert packs * 100e9 * viable_share(rule, age) >= needed
    assert packs * 100e9 * viable_share(rule, age + 1) < needed


def test_a_lighter_kit_is_served_longer():
    assert last_day(50e9) == PACKAGED + timedelta(days=71)
    assert last_day(90e9) == PACKAGED + timedelta(days=14)


def test_a_second_pack_serves_longer():
    assert last_day(90e9, packs=2) > last_day(90e9)


@pytest.mark.parametrize("rule", ViabilityRule)
def test_a_day_that_is_just_enough_still_serves(rule):
    for age in range(143):
        assert last_day(100e9 * viable_share(rule, age), rule=rule) == PACKAGED + timedelta(
            days=age
        )


def test_too_few_cells_from_the_start_serve_on_no_day():
    assert last_day(101e9) is None


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


def test_halfway_between_the_published_temperatures_is_the_geometric_mean():
    assert yearly_loss(12) == pytest.approx((0.045 * 0.20) ** 0.5)


def test_impossible_yeast_is_refused():
    with pytest.raises(ValueError, match="age of the yeast"):
        viability(ViabilityRule.LINEAR, -1)
    with pytest.raises(ValueError, match="viability at packaging is a share"):
        viability(ViabilityRule.LINEAR, 1, at_packaging=96)
    with pytest.raises(ValueError, match="number of packs"):
        last_day(90e9, packs=0)
    with pytest.raises(ValueError, match="cells needed"):
        last_day(0)
    with pytest.raises(ValueError, match="days in storage"):
        DryStretch(days=-1, temperature_c=4)
    with pytest.raises(ValueError, match="no store for dry yeast"):
        DryStretch(days=1, temperature_c=60)
