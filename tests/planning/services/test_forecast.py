"""Setting the forecast of kits by week."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxwort.accounts.models import History
from planning.models import Forecast
from planning.queries.demand import demand_grid
from planning.services.forecast import MOST_KITS, ForecastCell, ShownGrid, set_forecast
from tests.make import refused
from tests.planning.make import planner, store

pytestmark = pytest.mark.django_db
WEDNESDAY = date(2026, 11, 25)
MONDAY = date(2026, 11, 23)


def cell(kit, kits, week_on=WEDNESDAY):
    return ForecastCell(kit=kit, week_on=week_on, kits=kits)


def test_a_forecast_is_kept_on_the_monday_of_its_week():
    kit = store(hops=False).kit
    assert set_forecast(by=planner(), cells=[cell(kit, 5)]) == 1
    assert Forecast.objects.get().week_on == MONDAY


def test_a_new_number_replaces_the_old_one_and_the_same_changes_nothing():
    kit = store(hops=False).kit
    set_forecast(by=planner(), cells=[cell(kit, 5)])
    assert set_forecast(by=planner(), cells=[cell(kit, 8)]) == 1
    assert set_forecast(by=planner(), cells=[cell(kit, 8)]) == 0
    assert Forecast.objects.get().kits == 8
    newest = History.objects.filter(action="set forecast").first()
    assert (newest.before, newest.after["kits"]) == ({"kits": 5}, 8)


def test_zero_takes_a_forecast_away():
    kit = store(hops=False).kit
    set_forecast(by=planner(), cells=[cell(kit, 5)])
    assert set_forecast(by=planner(), cells=[cell(kit, 0)]) == 1
    assert not Forecast.objects.exists()
    assert History.objects.filter(action="took forecast away").count() == 1


def test_cells_are_set_together_or_not_at_all():
    kit = store(hops=False).kit
    next_week = cell(kit, 4, MONDAY + timedelta(weeks=1))
    with refused("forecast-twice"):
        set_forecast(by=planner(), cells=[next_week, cell(kit, 5), cell(kit, 6, MONDAY)])
    with refused("forecast-below-zero"):
        set_forecast(by=planner(), cells=[next_week, cell(kit, -1)])
    with refused("forecast-too-many"):
        set_forecast(by=planner(), cells=[next_week, cell(kit, MOST_KITS + 1)])
    assert not Forecast.objects.exists()


def test_nothing_is_foreseen_after_a_kit_is_last_sold():
    kit = store(hops=False).kit
    kit.last_sale_on = WEDNESDAY
    set_forecast(by=planner(), cells=[cell(kit, 5)])
    with refused("kit-last-sold"):
        set_forecast(by=planner(), cells=[cell(kit, 5, MONDAY + timedelta(weeks=1))])


def test_a_grid_that_another_changed_meanwhile_is_not_written_over():
    kit = store(hops=False).kit
    grid = demand_grid(WEDNESDAY, weeks=4)
    shown = ShownGrid(first_week=MONDAY, weeks=4, fingerprint=grid.fingerprint)
    set_forecast(by=planner(), cells=[cell(kit, 5, MONDAY + timedelta(weeks=3))], shown=shown)
    with refused("forecast-changed"):
        set_forecast(by=planner(), cells=[cell(kit, 6)], shown=shown)
    assert Forecast.objects.get().kits == 5
    later = ShownGrid(
        first_week=MONDAY + timedelta(weeks=4),
        weeks=4,
        fingerprint=demand_grid(MONDAY + timedelta(weeks=4), weeks=4).fingerprint,
    )
    set_forecast(by=planner(), cells=[cell(kit, 5)], shown=later)  # other weeks are as they were
