from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from boxwort.figures import share as percent
from recipes.brewing.stand import DECAY, ISOMERISATION, Stand, equivalent_minutes, stand_working

STAND = Stand(minutes=30, from_c=98, to_c=70)

temperatures = st.floats(40, 100)
times = st.floats(0.1, 120)


def fine_integral(rate, stand, last_minutes):
    """Return the integral of a rate by Simpson's rule on 100,000 slices."""
    slices = 100_000
    left = np.linspace(0, last_minutes, slices + 1)
    kelvin = stand.to_c + (stand.from_c - stand.to_c) * left / stand.minutes + 273.15
    rates = rate.per_minute * np.exp(-rate.kelvin / kelvin)
    odd, even = rates[1:-1:2].sum(), rates[2:-1:2].sum()
    return last_minutes / slices / 3 * (rates[0] + rates[-1] + 4 * odd + 2 * even)


@pytest.mark.parametrize("to_c", [40, 65, 90, 99.5])
@pytest.mark.parametrize("last_minutes", [60, 12])
def test_the_integral_is_exact_to_its_stated_error(to_c, last_minutes):
    stand = Stand(minutes=60, from_c=100, to_c=to_c)
    fine = fine_integral(ISOMERISATION, stand, last_minutes) / ISOMERISATION.at(100)
    assert equivalent_minutes(stand, last_minutes) == pytest.approx(fine, rel=1e-12)


@given(times)
def test_a_stand_at_boiling_counts_its_minutes(minutes):
    boiling = Stand(minutes=minutes, from_c=100, to_c=100)
    assert equivalent_minutes(boiling) == pytest.approx(minutes, rel=1e-12)


@given(times, temperatures)
def test_a_stand_kept_hot_counts_its_minutes_by_the_ratio_of_the_rates(minutes, held_c):
    held = Stand(minutes=minutes, from_c=held_c, to_c=held_c)
    ratio = ISOMERISATION.at(held_c) / ISOMERISATION.at(100)
    assert equivalent_minutes(held) == pytest.approx(minutes * ratio, rel=1e-12)


@given(times, temperatures, temperatures, temperatures)
def test_a_hotter_stand_never_counts_less(minutes, one, two, three):
    cold_c, warm_c, hot_c = sorted((one, two, three))
    cooling = Stand(minutes=minutes, from_c=warm_c, to_c=cold_c)
    hotter_start = replace(cooling, from_c=hot_c)
    hotter_end = replace(cooling, from_c=hot_c, to_c=warm_c)
    counted = [equivalent_minutes(stand) for stand in (cooling, hotter_start, hotter_end)]
    assert counted[0] <= counted[1] * (1 + 1e-12)
    assert counted[1] <= counted[2] * (1 + 1e-12)
    assert counted[2] <= minutes * (1 + 1e-12)


@given(st.floats(0, 30))
def test_a_stand_is_the_sum_of_its_beginning_and_its_end(last_minutes):
    beginning = Stand(
        minutes=max(30 - last_minutes, 1e-9), from_c=98, to_c=STAND.temperature_c(last_minutes)
    )
    parts = equivalent_minutes(beginning) + equivalent_minutes(STAND, last_minutes)
    assert parts == pytest.approx(equivalent_minutes(STAND), abs=1e-8)


def test_hops_cannot_stand_longer_than_the_stand():
    assert equivalent_minutes(STAND, 45) == equivalent_minutes(STAND)
    assert equivalent_minutes(STAND, 0) == 0


def test_hops_that_go_in_late_meet_cooler_wort():
    late = stand_working(STAND, 15)
    terms = {term.name: term.value for term in late.terms}
    assert terms["time"] == 15
    assert terms["temperature when the hops meet it"] == pytest.approx(84)
    assert late.value < equivalent_minutes(STAND) / 2


def test_the_working_gives_the_rates_it_stands_on():
    working = stand_working(STAND)
    terms = {term.name: term.value for term in working.terms}
    assert working.value == equivalent_minutes(STAND)
    assert terms["k1 at its end"] * 30 < working.value * terms["k1(100 C)"]
    assert working.value * terms["k1(100 C)"] < terms["k1 when the hops meet it"] * 30
    assert "our own" in working.source


@pytest.mark.parametrize(
    ("from_c", "to_c", "said"),
    [(98, 70, "21.4 of these 30 min"), (85, 60, "30.0 of these 30 min")],
)
def test_below_90_degrees_the_rate_is_said_to_be_extrapolated(from_c, to_c, said):
    notes = stand_working(Stand(minutes=30, from_c=from_c, to_c=to_c)).notes
    assert said in notes[0]
    assert "extrapolation" in notes[0]


def test_where_the_rate_was_measured_nothing_is_said_of_extrapolation():
    notes = stand_working(Stand(minutes=30, from_c=98, to_c=90)).notes
    assert not any("extrapolation" in note for note in notes)


def test_what_is_lost_again_is_told_and_not_counted():
    lost = 1 - np.exp(-fine_integral(DECAY, STAND, 30))
    assert percent(lost) in stand_working(STAND).notes[-1]


@pytest.mark.parametrize(
    ("change", "what"),
    [
        ({"minutes": 0}, "time of the hop stand must be more than zero"),
        ({"minutes": -5}, "time of the hop stand must be more than zero"),
        ({"to_c": 99}, "it cannot end at 99 C when it begins at 98 C"),
        ({"from_c": 101}, "40 to 100 C, and was given 101 C"),
        ({"to_c": 39}, "40 to 100 C, and was given 39 C"),
        ({"to_c": float("nan")}, "40 to 100 C"),
    ],
)
def test_an_impossible_stand_is_refused(change, what):
    with pytest.raises(ValueError, match=what):
        replace(STAND, **change)


def test_hops_do_not_stand_for_less_than_no_time():
    with pytest.raises(ValueError, match="time in the hop stand cannot be less than zero"):
        equivalent_minutes(STAND, -1)
