"""What was kept otherwise before is still there when a database is brought up to date."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from inventory.models import Item
from planning.models import CustomerOrder, Forecast, OrderLine, Plan, PlannedItem
from tests.planning.make import planner, store

BEFORE, NOW = ("planning", "0004_dispatch_content"), ("planning", "0006_forecast")
APART, LATEST = ("planning", "0006_forecast"), ("planning", "0007_planned_items")
MONDAY, WEEK = date(2026, 3, 2), timedelta(days=7)
pytestmark = pytest.mark.django_db(transaction=True)


def migrated(target: tuple[str, str]) -> Any:
    """Return the models as they stood at `target`, whose names no type checker can know."""
    executor = MigrationExecutor(connection)
    executor.migrate([target])
    return executor.loader.project_state([target]).apps


@pytest.fixture
def old_demand() -> Iterator[Callable[..., Any]]:
    """Return a writer of demand as it was kept before."""
    kit = store().kit
    table = migrated(BEFORE).get_model("planning", "Demand")

    def write(day: date, kits: int, source: str, reference: str = "") -> None:
        table._default_manager.create(
            kit_id=kit.pk, wanted_on=day, kits=kits, source=source, reference=reference
        )

    yield write
    migrated(LATEST)


def test_orders_keep_their_reference_and_forecasts_of_a_week_add_up(old_demand):
    old_demand(MONDAY, 24, "order", "CO-4101")
    old_demand(MONDAY, 3, "order", "shop, 2nd floor")
    old_demand(MONDAY, 10, "forecast")
    old_demand(MONDAY, 5, "forecast", "fair")
    migrated(NOW)
    orders = CustomerOrder.objects.order_by("code").values_list("code", "note", "promised_on")
    assert list(orders) == [
        ("CO-4101", "CO-4101", MONDAY),
        ("SHOP--2ND-FLOOR", "shop, 2nd floor", MONDAY),
    ]
    assert sorted(OrderLine.objects.values_list("quantity", flat=True)) == [3, 24]
    assert list(Forecast.objects.values_list("week_on", "kits")) == [(MONDAY, 15)]


@pytest.fixture
def old_orders() -> Iterator[Any]:
    """Return the table of planned orders as each had a row of its own."""
    yield migrated(APART).get_model("planning", "PlannedOrder")
    migrated(LATEST)


def test_orders_of_a_kept_plan_stand_together_by_item_and_can_be_put_apart_again(old_orders):
    made = store()
    plan = Plan.objects.create(made_by=planner(), as_of=MONDAY, weeks=6)
    kit, other = made.kit.item_id, Item.objects.exclude(pk=made.kit.item_id).first().pk
    facts = ("item_id", "quantity", "need_by", "order_by", "past_due", "cost", "pegs")
    rows = [
        (kit, 8, MONDAY, MONDAY, True, 0, [["CO-1", 8]]),
        (kit, 5, MONDAY + WEEK, MONDAY, False, 0, []),
        (other, 250, MONDAY + WEEK, MONDAY, False, 1_200, [["R-1", 200], ["the safety stock", 50]]),
    ]
    for row in rows:
        old_orders._default_manager.create(plan_id=plan.pk, **dict(zip(facts, row, strict=True)))
    migrated(LATEST)
    found = PlannedItem.objects.order_by("quantity").values_list("item_id", "quantity", "orders")
    assert list(found) == [
        (
            kit,
            13,
            [
                ["2026-03-02", "2026-03-02", True, 8, 0, [["CO-1", 8]]],
                ["2026-03-02", "2026-03-09", False, 5, 0, []],
            ],
        ),
        (
            other,
            250,
            [
                [
                    "2026-03-02",
                    "2026-03-09",
                    False,
                    250,
                    1200,
                    [["R-1", 200], ["the safety stock", 50]],
                ]
            ],
        ),
    ]
    back = migrated(APART).get_model("planning", "PlannedOrder")._default_manager
    assert sorted(back.values_list(*facts), key=rows.index) == rows
