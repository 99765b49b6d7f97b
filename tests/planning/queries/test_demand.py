"""Demand as a grid of kits and weeks."""

from __future__ import annotations

from datetime import date, timedelta

import pytest

from boxwort.accounts.queries import site_settings
from planning.models import CustomerOrder, CustomerOrderState, OrderLine
from planning.queries.demand import demand_grid
from planning.queries.plan_wants import open_orders
from planning.services.forecast import ForecastCell, set_forecast
from tests.planning.make import planner, store

pytestmark = pytest.mark.django_db
WEDNESDAY = date(2026, 11, 25)
MONDAY = date(2026, 11, 23)
WEEK = timedelta(weeks=1)


def foreseen(kit, **weeks):
    cells = [
        ForecastCell(kit=kit, week_on=MONDAY + int(week[1:]) * WEEK, kits=kits)
        for week, kits in weeks.items()
    ]
    set_forecast(by=planner(), cells=cells)


def ordered(kit, kits, day, **facts):
    gone = facts.pop("dispatched", 0)
    code = f"CO-{CustomerOrder.objects.count() + 1}"
    order = CustomerOrder.objects.create(code=code, customer="A", promised_on=day, **facts)
    OrderLine.objects.create(order=order, position=1, kit=kit, quantity=kits, dispatched=gone)


def cells(row):
    return [(cell.ordered, cell.forecast, cell.left, cell.kits) for cell in row.cells]


def test_orders_use_up_the_forecast_of_their_week():
    kit = store(hops=False).kit
    foreseen(kit, w0=20, w1=4)
    ordered(kit, 8, WEDNESDAY)
    ordered(kit, 5, MONDAY)
    ordered(kit, 6, MONDAY + WEEK)
    grid = demand_grid(WEDNESDAY, weeks=2)
    assert grid.weeks == (MONDAY, MONDAY + WEEK)
    (row,) = grid.rows
    assert cells(row) == [(13, 20, 7, 20), (6, 4, 0, 6)]
    assert row.kits == grid.total.kits == 26
    assert [total.kits for total in grid.totals] == [20, 6]


def test_what_has_left_used_up_its_forecast_and_is_not_to_be_sent_again():
    kit = store(hops=False).kit
    foreseen(kit, w0=20)
    ordered(kit, 8, MONDAY, dispatched=3)
    ordered(kit, 50, MONDAY, state=CustomerOrderState.CANCELLED)
    (row,) = demand_grid(WEDNESDAY, weeks=1).rows
    assert cells(row) == [(8, 20, 12, 17)]


def test_what_had_left_of_an_order_that_was_cancelled_used_up_its_forecast():
    kit = store(hops=False).kit
    foreseen(kit, w0=20)
    ordered(kit, 50, MONDAY, state=CustomerOrderState.CANCELLED, dispatched=2)
    (row,) = demand_grid(WEDNESDAY, weeks=1).rows
    assert cells(row) == [(2, 20, 18, 18)]
    (line,) = open_orders(MONDAY)
    assert (line.ordered, line.left) == (2, 0)


def test_orders_of_weeks_that_are_not_shown_use_up_forecast_as_the_house_says():
    kit = store(hops=False).kit
    settings = site_settings()
    settings.consume_back_weeks = 1
    settings.save()
    foreseen(kit, w0=20, w1=4)
    ordered(kit, 6, MONDAY + WEEK)
    (row,) = demand_grid(WEDNESDAY, weeks=1).rows
    assert cells(row) == [(0, 20, 18, 18)]


def test_demand_outside_the_weeks_is_left_out_in_few_statements(django_assert_num_queries):
    kit = store(hops=False).kit
    foreseen(kit, w2=9)
    ordered(kit, 7, MONDAY - timedelta(days=1))
    assert demand_grid(WEDNESDAY, weeks=2).rows == ()
    with django_assert_num_queries(4):
        (row,) = demand_grid(WEDNESDAY, weeks=3, also=[kit.item.code]).rows
    assert cells(row) == [(0, 0, 0, 0), (0, 0, 0, 0), (0, 9, 9, 9)]


def test_a_kit_may_stand_in_the_grid_before_anything_is_foreseen():
    kit = store(hops=False).kit
    (row,) = demand_grid(WEDNESDAY, weeks=1, also=[kit.item.code]).rows
    assert (row.kit_code, row.kits) == ("KIT-PALE", 0)
