from datetime import date, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planning.engine.calendar import WorkingDays
from planning.engine.shipping import Route, Season

MONDAY = date(2026, 3, 2)
HOUSE = WorkingDays(weekdays="01234")


def route(**facts):
    known = {"transit_days": 2, "temperature_c": 15.0, "warm_temperature_c": 27.0} | facts
    return Route(**known)


def test_a_box_leaves_on_a_day_of_its_zone_on_which_the_house_works():
    north = route(weekdays="026")
    assert north.ship_day(MONDAY, HOUSE) == MONDAY
    assert north.ship_day(MONDAY + timedelta(days=1), HOUSE) == MONDAY + timedelta(days=2)
    assert north.ship_day(MONDAY + timedelta(days=3), HOUSE) == MONDAY + timedelta(days=7)


def test_a_day_off_of_the_house_sends_boxes_on_the_next_day_of_the_zone():
    resting = WorkingDays(weekdays="01234", days_off=frozenset({MONDAY}))
    assert route(weekdays="02").ship_day(MONDAY, resting) == MONDAY + timedelta(days=2)
    assert route(weekdays="02").last_ship_day(MONDAY, resting) == MONDAY - timedelta(days=5)


def test_a_zone_that_ships_only_when_the_house_rests_has_no_ship_day():
    assert route(weekdays="6").ship_day(MONDAY, HOUSE) is None
    assert route(weekdays="6").last_ship_day(MONDAY, HOUSE) is None


def test_a_summer_lies_within_a_year_and_a_southern_one_goes_over_the_new_year():
    summer, southern = Season(first=515, last=930), Season(first=1115, last=228)
    assert [summer.holds(date(2026, *day)) for day in ((5, 14), (5, 15), (9, 30), (10, 1))] == [
        *(False, True),
        *(True, False),
    ]
    assert [southern.holds(date(2026, *day)) for day in ((11, 14), (12, 31), (1, 1), (3, 1))] == [
        *(False, True),
        *(True, False),
    ]


def test_a_box_is_warm_if_any_day_of_its_way_is():
    south = route(season=Season(first=601, last=831), transit_days=3)
    assert south.temperature(date(2026, 5, 28)) == 15.0
    assert south.temperature(date(2026, 5, 29)) == 27.0
    assert south.temperature(date(2026, 8, 31)) == 27.0
    assert south.temperature(date(2026, 9, 1)) == 15.0


@pytest.mark.parametrize(
    ("shipped_on", "liquid", "packs"),
    [
        (date(2026, 7, 1), True, 8),
        (date(2026, 7, 1), False, 0),
        (date(2026, 12, 1), True, 0),
    ],
)
def test_ice_goes_with_liquid_yeast_in_the_warm_season(shipped_on, liquid, packs):
    south = route(season=Season(first=601, last=831), ice_packs=2)
    assert south.ice_packs_for(shipped_on, liquid_yeast=liquid, boxes=4) == packs


def test_without_a_season_it_is_never_warm():
    assert not route().is_warm(date(2026, 7, 1))
    assert route().arrival_day(MONDAY) == MONDAY + timedelta(days=2)


@settings(max_examples=40, suppress_health_check=[HealthCheck.too_slow])
@given(
    ahead=st.integers(0, 400),
    zone=st.sets(st.sampled_from("0123456"), min_size=1),
    house=st.sets(st.sampled_from("0123456"), min_size=1),
)
def test_no_day_between_was_missed(ahead, zone, house):
    day = MONDAY + timedelta(days=ahead)
    calendar = WorkingDays(weekdays="".join(sorted(house)))
    way = route(weekdays="".join(sorted(zone)))
    leaves = way.ship_day(day, calendar)
    if leaves is None:
        assert not zone & house
        return
    assert way.ships_on(leaves, calendar)
    between = [day + timedelta(days=more) for more in range((leaves - day).days)]
    assert not any(way.ships_on(each, calendar) for each in between)
    assert way.last_ship_day(leaves, calendar) == leaves
