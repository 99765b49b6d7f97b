"""Demand of two sources becomes orders and a forecast when a database is brought up to date."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from datetime import date
from typing import Any

import pytest
from django.db import connection
from django.db.migrations.executor import MigrationExecutor

from planning.models import CustomerOrder, Forecast, OrderLine
from tests.planning.make import store

BEFORE, NOW = ("planning", "0004_dispatch_content"), ("planning", "0006_forecast")
MONDAY = date(2026, 3, 2)
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
    migrated(NOW)


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
