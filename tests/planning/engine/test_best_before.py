"""The first thing in the box that fails dates the kit."""

from __future__ import annotations

from datetime import date, timedelta

from hypothesis import given
from hypothesis import strategies as st

from inventory.ageing.hops import Stretch, decay_rate, equivalent_days, remaining_share
from planning.engine.best_before import Component, best_before, bitter_enough, lasting
from planning.engine.pitching import LONGEST_DAYS

PACKED_ON = date(2026, 11, 25)


def component(name: str, days: int) -> Component:
    return Component(name=name, reason="best before", last_day=PACKED_ON + timedelta(days=days))


def test_the_earliest_last_day_is_the_kits_and_says_what_sets_it():
    found = best_before([component("Extract", 90), component("Malt", 40), component("Hops", 60)])
    assert found.set_by == component("Malt", 40)
    assert found.day == PACKED_ON + timedelta(days=40)
    assert [row.name for row in found.rows] == ["Malt", "Hops", "Extract"]


def test_a_kit_of_nothing_that_ages_has_no_day():
    found = best_before([])
    assert (found.day, found.set_by) == (None, None)


@given(st.lists(st.integers(0, 500), min_size=1))
def test_a_box_lasts_as_long_as_the_first_of_its_things_to_fail(days):
    box = [component(str(n), day) for n, day in enumerate(days)]
    assert best_before(box).day == PACKED_ON + timedelta(days=min(days))


def test_hops_hold_to_the_last_day_within_a_tenth_of_the_target():
    rate, target = decay_rate(0.50), 40.0

    def ibu(day: date) -> float:
        shelf = Stretch(days=(day - PACKED_ON).days, temperature_c=20.0, storage_factor=0.5)
        return 42.0 * remaining_share(rate, equivalent_days([shelf]))

    found = lasting("Hops", "bitterness", lambda day: bitter_enough(ibu(day), target), PACKED_ON)
    assert found is not None
    assert ibu(found.last_day) >= 36.0 > ibu(found.last_day + timedelta(days=1))


def test_what_holds_for_three_years_dates_nothing():
    assert lasting("Hops", "bitterness", lambda _: True, PACKED_ON) is None
    end = PACKED_ON + timedelta(days=LONGEST_DAYS - 1)
    found = lasting("Hops", "bitterness", lambda day: day <= end, PACKED_ON)
    assert found is not None
    assert found.last_day == end


def test_what_fails_on_the_pack_day_says_so_and_dates_no_box_before_it():
    found = lasting("Yeast", "floor pitch", lambda _: False, PACKED_ON)
    assert found is not None
    assert (found.last_day, found.reason) == (PACKED_ON, "floor pitch, not even on the pack day")
