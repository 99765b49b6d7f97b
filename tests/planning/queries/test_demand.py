"""Demand as a grid of kits and weeks."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from planning.models import DemandSource
from planning.queries.demand import demand_grid
from planning.services.demand import DemandFacts, write_demand
from tests.planning.make import planner, store

pytestmark = pytest.mark.django_db
WEDNESDAY = date(2026, 11, 25)
MONDAY = date(2026, 11, 23)


def test_orders_use_up_the_forecast_of_their_week():
    kit = store(hops=False).kit
    order = DemandFacts(kit=kit, wanted_on=WEDNESDAY, kits=8, source=DemandSource.ORDER)
    rows = [
        DemandFacts(kit=kit, wanted_on=WEDNESDAY, kits=20),
        order,
        DemandFacts(kit=kit, wanted_on=MONDAY, kits=5, source=DemandSource.ORDER),
        DemandFacts(kit=kit, wanted_on=MONDAY + timedelta(weeks=1), kits=4),
    ]
    write_demand(by=planner(), rows=rows)
    grid = demand_grid(WEDNESDAY, weeks=2)
    assert grid.weeks == (MONDAY, MONDAY + timedelta(weeks=1))
    (row,) = grid.rows
    assert [(cell.ordered, cell.forecast, cell.kits) for cell in row.cells] == [
        (13, 20, 20),
        (0, 4, 4),
    ]
    assert row.kits == 24


def test_demand_outside_the_weeks_is_left_out(django_assert_num_queries):
    kit = store(hops=False).kit
    rows = [
        DemandFacts(kit=kit, wanted_on=MONDAY - timedelta(days=1), kits=7),
        DemandFacts(kit=kit, wanted_on=MONDAY + timedelta(weeks=2), kits=9),
    ]
    write_demand(by=planner(), rows=rows)
    with django_assert_num_queries(1):
        assert demand_grid(WEDNESDAY, weeks=2).rows == ()
