"""Crushed grain, opened containers and what has a shelf life keep for whole days."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from inventory.ageing.freshness import Clock, ClockKind, clock, last_fresh_day

CRUSHED_ON = date(2026, 2, 1)


def test_the_last_day_of_a_life_still_counts():
    crushed = Clock(kind=ClockKind.CRUSHED, from_on=CRUSHED_ON, days=28)
    assert crushed.last_day == date(2026, 3, 1)
    assert Clock(kind=ClockKind.OPENED, from_on=CRUSHED_ON, days=0).last_day == CRUSHED_ON


def test_the_clock_that_runs_out_first_decides():
    crushed = clock(ClockKind.CRUSHED, CRUSHED_ON, 60)
    opened = clock(ClockKind.OPENED, CRUSHED_ON + timedelta(days=10), 30)
    assert last_fresh_day([crushed, opened, None]) is opened


@pytest.mark.parametrize(("from_on", "days"), [(None, 30), (CRUSHED_ON, None), (None, None)])
def test_a_clock_that_nobody_started_does_not_run(from_on, days):
    assert clock(ClockKind.OPENED, from_on, days) is None
    assert last_fresh_day([None]) is None


def test_a_life_is_not_less_than_nothing():
    with pytest.raises(ValueError, match="crushed life cannot be less than zero"):
        Clock(kind=ClockKind.CRUSHED, from_on=CRUSHED_ON, days=-1)
