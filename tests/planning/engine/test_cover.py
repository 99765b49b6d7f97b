"""Cover, classes by value, and what of a lot will be lost."""

from __future__ import annotations

from datetime import date, timedelta
from itertools import pairwise
from math import inf

import pytest
from hypothesis import given
from hypothesis import strategies as st

from planning.engine.cover import Lasting, lasting, value_classes, weeks_of_cover

TODAY = date(2026, 11, 25)


def lot(**facts) -> Lasting:
    known = {
        "on_hand": 900,
        "planned": 300,
        "ends_on": TODAY + timedelta(days=30),
        "until": TODAY + timedelta(days=180),
        "cost": (3_000, 900),
        "last_used_on": TODAY - timedelta(days=10),
        "today": TODAY,
        "slow_days": 120,
    }
    return lasting(**known | facts)


@pytest.mark.parametrize(
    ("on_hand", "demand", "weeks"),
    [
        (0, [10], 0.0),
        (5, [10], 0.5),
        (10, [10], 1.0),
        (10, [0, 0, 10, 10], 3.0),
        (10, [], inf),
        (10, [0, 0], inf),
        (40, [10, 10], 4.0),
    ],
)
def test_cover_walks_the_weeks_that_are_known_and_then_their_mean(on_hand, demand, weeks):
    assert weeks_of_cover(on_hand, demand) == weeks


@given(st.integers(0, 500), st.lists(st.integers(0, 50), min_size=1, max_size=8))
def test_more_stock_never_covers_less(on_hand, demand):
    assert weeks_of_cover(on_hand, demand) <= weeks_of_cover(on_hand + 1, demand)


def test_the_item_that_passes_a_limit_still_belongs_above_it():
    assert value_classes({"a": 79, "b": 2, "c": 19}) == {"a": "A", "c": "A", "b": "C"}


def test_what_comes_after_a_limit_that_is_met_exactly_is_below_it():
    assert value_classes({"a": 80, "b": 15, "c": 5}) == {"a": "A", "b": "B", "c": "C"}


def test_of_items_of_one_value_the_first_by_name_goes_first():
    assert value_classes({"y": 20, "x": 20, "w": 60}) == {"w": "A", "x": "A", "y": "B"}


def test_what_is_not_used_is_in_the_last_class():
    assert value_classes({"a": 0, "b": 0}) == {"a": "C", "b": "C"}
    assert value_classes({}) == {}


@given(st.dictionaries(st.text("abcdef", min_size=1), st.integers(0, 1_000), max_size=8))
def test_a_dearer_item_is_never_in_a_lower_class(used):
    classes = value_classes(used)
    order = sorted(used, key=lambda item: (used[item], classes[item] == "A"), reverse=True)
    for dearer, cheaper in pairwise(order):
        assert classes[dearer] <= classes[cheaper] or used[dearer] == used[cheaper]


def test_what_the_plan_leaves_of_a_lot_that_ends_is_lost():
    assert lot() == Lasting(used=300, lost=600, value_lost=2_000, slow=False)


def test_no_more_of_a_lot_is_used_than_there_is():
    assert lot(planned=1_200) == Lasting(used=900, lost=0, value_lost=0, slow=False)


def test_a_lot_that_keeps_beyond_the_plan_is_not_known_to_be_lost():
    assert lot(ends_on=None).lost == 0
    assert lot(ends_on=TODAY + timedelta(days=181)).lost == 0
    assert lot(ends_on=TODAY + timedelta(days=180)).lost == 600


def test_a_lot_is_slow_that_lay_too_long_or_that_nothing_will_use():
    assert lot(last_used_on=TODAY - timedelta(days=121)).slow
    assert not lot(last_used_on=TODAY - timedelta(days=120)).slow
    assert lot(planned=0).slow
    assert not lot(on_hand=0, planned=0).slow


def test_a_lot_that_cost_nothing_has_nothing_at_risk():
    assert lot(cost=(0, 0)).value_lost == 0


@pytest.mark.parametrize(("on_hand", "demand"), [(-1, [1]), (1, [-1])])
def test_stock_and_demand_below_zero_are_refused(on_hand, demand):
    with pytest.raises(ValueError, match="less than zero"):
        weeks_of_cover(on_hand, demand)


def test_values_below_zero_are_refused():
    with pytest.raises(ValueError, match="less than zero"):
        value_classes({"a": -1})
