"""Writing demand for kits."""

from __future__ import annotations

from datetime import date

import pytest

from boxwort.accounts.models import History
from planning.models import Demand, DemandSource
from planning.services.demand import DemandFacts, write_demand
from tests.make import refused
from tests.planning.make import planner, store

pytestmark = pytest.mark.django_db
WEDNESDAY = date(2026, 11, 25)


def forecast(kit, kits, **facts):
    return DemandFacts(kit=kit, wanted_on=WEDNESDAY, kits=kits, **facts)


def test_a_forecast_is_kept_on_the_monday_of_its_week_and_an_order_on_its_day():
    kit = store(hops=False).kit
    rows = [forecast(kit, 5), forecast(kit, 3, source=DemandSource.ORDER, reference="W-17")]
    assert write_demand(by=planner(), rows=rows) == 2
    assert {row.source: row.wanted_on for row in Demand.objects.all()} == {
        "forecast": date(2026, 11, 23),
        "order": WEDNESDAY,
    }


def test_a_new_number_replaces_the_old_one_and_the_same_changes_nothing():
    kit = store(hops=False).kit
    write_demand(by=planner(), rows=[forecast(kit, 5)])
    assert write_demand(by=planner(), rows=[forecast(kit, 8)]) == 1
    assert write_demand(by=planner(), rows=[forecast(kit, 8)]) == 0
    assert Demand.objects.get().kits == 8
    newest = History.objects.filter(action="wrote demand").first()
    assert (newest.before, newest.after["kits"]) == ({"kits": 5}, 8)


def test_zero_takes_a_demand_away():
    kit = store(hops=False).kit
    write_demand(by=planner(), rows=[forecast(kit, 5)])
    assert write_demand(by=planner(), rows=[forecast(kit, 0)]) == 1
    assert not Demand.objects.exists()


def test_two_rows_for_the_same_week_are_refused_whole():
    kit = store(hops=False).kit
    with refused("demand-twice"):
        write_demand(by=planner(), rows=[forecast(kit, 5), forecast(kit, 6)])
    with refused("demand-below-zero"):
        write_demand(by=planner(), rows=[forecast(kit, -1)])
    assert not Demand.objects.exists()
