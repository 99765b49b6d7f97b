"""The plan over the API: read, one item, taken up, kept."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from planning.models import CustomerOrder, OrderLine, Plan, Run
from tests.calling import Program, done_once
from tests.planning.make import TODAY, Store


def ordered(house: Store) -> None:
    promised_on = TODAY + timedelta(days=7)
    order = CustomerOrder.objects.create(code="CO-1", customer="Ann", promised_on=promised_on)
    OrderLine.objects.create(order=order, position=1, kit=house.kit, quantity=10)


def suggested(planner: Program) -> dict[str, Any]:
    (week,) = planner.read("api-plan")["weeks"]
    (run,) = week["runs"]
    return dict(run)


def test_the_plan_says_what_to_pack_and_what_to_order(planner: Program, house: Store) -> None:
    ordered(house)
    plan = planner.read("api-plan")
    assert plan["figures"]["kits"] == 10
    assert suggested(planner)["lines"][0]["serves"] == [{"what": "CO-1", "kits": 10}]
    assert {row["item"] for row in plan["purchases"]["requirements"]} >= {"BITTER", "BOX"}


def test_an_item_of_the_plan_is_pegged_both_ways(planner: Program, house: Store) -> None:
    ordered(house)
    found = planner.read("api-plan-item", house.goods.box.pk)
    assert found["item"]["needs"][0]["pegs"][0]["quantity"]["quantity"] == 10
    assert found["supplies"][0]["serves"][0]["quantity"] == 10


def test_a_suggested_run_is_taken_up_once(planner: Program, house: Store) -> None:
    ordered(house)
    run = suggested(planner)
    lines = [{"kit_id": line["kit_id"], "kits": line["kits"]} for line in run["lines"]]
    body = {"runs": [{"key": run["key"], "lines": lines}]}
    answer = done_once(planner, "api-plan-take-up", body=body)
    assert answer["runs"] == [Run.objects.get().code]


def test_a_plan_is_kept_once(planner: Program, house: Store) -> None:
    ordered(house)
    kept = done_once(planner, "api-plan-keep", body={"note": "before the fair"})
    assert Plan.objects.get().pk == kept["plan_id"]
