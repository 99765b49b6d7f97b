from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.boil import BoilSchedule, KettleExtract, boil_gravity, boil_gravity_for


def schedule(*extracts: KettleExtract) -> BoilSchedule:
    return BoilSchedule(pre_boil_volume_l=25, post_boil_volume_l=20, extracts=extracts)


EARLY = KettleExtract(name="Early", points_l=500)
LATE = KettleExtract(name="Late", points_l=500, minutes=15)


def test_boil_gravity_is_the_mean_of_before_and_after():
    assert boil_gravity_for(60, schedule(EARLY)) == pytest.approx((1.020 + 1.025) / 2)


def test_late_extract_counts_for_its_share_of_the_contact():
    early, late = boil_gravity_for(60, schedule(EARLY)), boil_gravity_for(60, schedule(EARLY, LATE))
    assert late - 1 == pytest.approx((early - 1) * 1.25)


def test_late_extract_counts_whole_for_a_later_hop():
    both = schedule(EARLY, LATE)
    assert boil_gravity_for(10, both) == pytest.approx(boil_gravity_for(15, both))
    assert boil_gravity_for(10, both) - 1 == pytest.approx(
        2 * (boil_gravity_for(10, schedule(EARLY)) - 1)
    )


@pytest.mark.parametrize("minutes", [0, 5, 60])
def test_flame_out_extract_is_left_out(minutes):
    at_flame_out = KettleExtract(name="Syrup", points_l=500, minutes=0)
    assert boil_gravity_for(minutes, schedule(EARLY, at_flame_out)) == boil_gravity_for(
        minutes, schedule(EARLY)
    )


@given(st.floats(0, 90), st.floats(0, 90), st.floats(0, 90))
def test_later_extract_never_makes_a_heavier_boil(contact, one, other):
    later, earlier = (
        schedule(EARLY, KettleExtract(name="Late", points_l=500, minutes=minutes))
        for minutes in sorted((one, other))
    )
    assert boil_gravity_for(contact, later) <= boil_gravity_for(contact, earlier)


def test_plain_water_boils_at_one():
    assert boil_gravity_for(60, schedule()) == 1


def test_the_working_gives_its_value():
    working = boil_gravity(60, schedule(EARLY, LATE))
    extract = sum(part.value for part in working.parts)
    assert working.value == pytest.approx(1 + (extract / 25 + extract / 20) / 2 / 1000)


def test_a_boil_does_not_make_water():
    with pytest.raises(ValueError, match="a boil only loses water"):
        BoilSchedule(pre_boil_volume_l=20, post_boil_volume_l=21, extracts=())


def test_time_does_not_run_backwards():
    with pytest.raises(ValueError, match="boil time of Late cannot be less than zero"):
        boil_gravity_for(60, schedule(KettleExtract(name="Late", points_l=1, minutes=-1)))
    with pytest.raises(ValueError, match="boil time cannot be less than zero"):
        boil_gravity_for(-1, schedule(EARLY))
