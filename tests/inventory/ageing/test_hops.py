from __future__ import annotations

from dataclasses import replace
from itertools import permutations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from inventory.ageing.hops import (
    STORAGE_FACTORS,
    StorageGrade,
    Stretch,
    alpha_after,
    alpha_from_harvest,
    decay_rate,
    equivalent_days,
    index_loss,
    lost_since_harvest,
    rate_between,
    remaining_share,
    storage_grade,
    temperature_factor,
)

COLD = Stretch(days=100, temperature_c=0.0, storage_factor=STORAGE_FACTORS["barrier"])
SHELF = Stretch(days=30, temperature_c=20.0, storage_factor=STORAGE_FACTORS["airtight"])

stretches = st.lists(
    st.builds(
        Stretch,
        days=st.floats(0, 1000),
        temperature_c=st.floats(-20, 40),
        storage_factor=st.sampled_from(sorted(STORAGE_FACTORS.values())),
    ),
    max_size=5,
)
alphas = st.floats(0, 0.3)
losses = st.floats(0, 0.95)


def _kept(rate, life):
    return remaining_share(rate, equivalent_days(life))


@given(alphas, losses, stretches)
def test_ageing_never_adds_alpha(alpha, lost, life):
    assert 0 <= alpha_after(alpha, decay_rate(lost), life).value <= alpha * 100


@given(losses, stretches, st.floats(0, 500))
def test_a_longer_life_never_keeps_more(lost, life, days):
    longer = [*life, replace(SHELF, days=days)]
    assert _kept(decay_rate(lost), longer) <= _kept(decay_rate(lost), life)


@given(losses, stretches, stretches)
def test_two_lives_in_a_row_multiply(lost, first, second):
    rate = decay_rate(lost)
    both = _kept(rate, first) * _kept(rate, second)
    assert _kept(rate, [*first, *second]) == pytest.approx(both)


def test_the_order_of_the_stretches_does_not_matter():
    lives = permutations((COLD, SHELF, replace(SHELF, temperature_c=30.0)))
    assert len({_kept(0.002, life) for life in lives}) == 1


def test_the_cold_store_and_the_barrier_keep_alpha():
    warm = replace(COLD, temperature_c=20.0)
    loose = replace(COLD, storage_factor=STORAGE_FACTORS["loose"])
    kept = _kept(0.002, (COLD,))
    assert kept > _kept(0.002, (warm,))
    assert kept > _kept(0.002, (loose,))


def test_no_time_is_no_loss():
    assert alpha_after(0.05, 0.002, ()).value == pytest.approx(5.0)


def test_the_working_has_a_part_for_each_stretch_and_says_what_is_from_memory():
    alpha = alpha_after(0.09, 0.002, (COLD, SHELF))
    assert [part.value for part in alpha.parts] == [COLD.equivalent_days, SHELF.equivalent_days]
    assert "from memory" in alpha.notes[0]


@given(st.floats(0.05, 3), st.floats(0.05, 3))
def test_a_higher_index_is_never_a_smaller_loss(one, other):
    low, high = sorted((one, other))
    assert 0 <= index_loss(low) <= index_loss(high) <= 1


@given(st.floats(0.05, 3), st.floats(0.05, 3))
def test_a_higher_index_is_never_a_better_grade(one, other):
    grades = list(StorageGrade)
    low, high = sorted((one, other))
    assert grades.index(storage_grade(low)) <= grades.index(storage_grade(high))


@given(st.floats(0.05, 0.3), st.floats(0.1, 2.0), losses, stretches)
def test_a_harvest_value_never_grows_by_its_index_or_by_ageing_on(harvest, index, lost, life):
    by_index = alpha_from_harvest(harvest, index)
    assert 0 <= by_index.value <= harvest * 100
    aged = alpha_after(by_index.value / 100, decay_rate(lost), life)
    assert aged.value <= by_index.value * (1 + 1e-12)


@given(st.floats(0.1, 1.9), st.floats(0.1, 1.9), stretches)
def test_a_rate_of_its_own_never_adds_alpha(one, other, life):
    low, high = sorted((one, other))
    rate = rate_between(low, high, (SHELF,))
    assert rate.value >= 0
    assert alpha_after(0.10, rate.value, life).value <= 10.0


def test_many_hops_age_at_once_as_each_alone():
    lost, days = np.array([0.15, 0.30, 0.50]), np.array([[0.0], [90.0], [400.0]])
    together = remaining_share(decay_rate(lost), days)
    alone = [[remaining_share(decay_rate(x), d) for x in (0.15, 0.3, 0.5)] for d in (0, 90, 400)]
    assert together == pytest.approx(np.array(alone))
    warmth = np.array([-10.0, 5.0, 20.0, 35.0])
    assert temperature_factor(warmth) == pytest.approx([temperature_factor(t) for t in warmth])


def test_one_impossible_hop_among_many_is_refused():
    with pytest.raises(ValueError, match="has no rate"):
        decay_rate(np.array([0.3, 1.0]))
    with pytest.raises(ValueError, match="61 degrees C is no store"):
        temperature_factor(np.array([5.0, 61.0]))
    with pytest.raises(ValueError, match="days in storage"):
        remaining_share(0.002, np.array([3.0, -1.0]))


def test_the_loss_by_the_index_names_the_grade():
    lost = lost_since_harvest(0.45)
    assert lost.value == pytest.approx(100 * index_loss(0.45))
    assert "Grade by the index: aged." in lost.notes


def test_a_hop_younger_than_harvest_has_lost_nothing():
    assert index_loss(0.22) == 0


def test_two_readings_give_back_the_rate_they_came_from():
    rate, lost_by_first = 0.0012, 0.10
    left = (1 - lost_by_first) * _kept(rate, (COLD, SHELF))
    first, second = (0.25 * 10 ** (lost / 1.10) for lost in (lost_by_first, 1 - left))
    found = rate_between(first, second, (COLD, SHELF))
    assert found.value == pytest.approx(rate)
    assert [part.name for part in found.parts] == ["Lost since harvest"] * 2 + ["Storage"] * 2


def test_two_readings_alike_are_a_hop_that_keeps():
    assert rate_between(0.30, 0.30, (SHELF,)).value == 0


def test_alpha_by_index_takes_the_loss_off_the_harvest_value():
    alpha = alpha_from_harvest(0.10, 0.310)
    assert alpha.value == pytest.approx(10 * (1 - 0.1028), abs=0.001)
    assert "harvest value" in alpha.notes[0]


@pytest.mark.parametrize(
    ("first", "second", "life", "what"),
    [
        (0.35, 0.30, (SHELF,), "have the sample read again"),
        (0.30, 2.5, (SHELF,), "no acid to take a rate from"),
        (0.30, 0.35, (), "time between readings must be more than zero"),
        (0.0, 0.35, (SHELF,), "storage index must be more than zero"),
    ],
)
def test_readings_that_give_no_rate_are_refused(first, second, life, what):
    with pytest.raises(ValueError, match=what):
        rate_between(first, second, life)


def test_impossible_hops_are_refused():
    with pytest.raises(ValueError, match="alpha acid is a share"):
        alpha_after(5.0, 0.002, ())
    with pytest.raises(ValueError, match="rate of loss"):
        alpha_after(0.05, -0.002, ())
    with pytest.raises(ValueError, match="has no rate"):
        decay_rate(1.0)
    with pytest.raises(ValueError, match="storage index must be more than zero"):
        storage_grade(0.0)


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"days": -1}, "days in storage"),
        ({"temperature_c": 70.0}, "no store for hops"),
        ({"storage_factor": 0.0}, "storage factor"),
    ],
)
def test_impossible_stores_are_refused(change, what):
    with pytest.raises(ValueError, match=what):
        replace(SHELF, **change)
