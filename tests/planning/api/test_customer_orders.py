"""Customer orders over the API."""

from __future__ import annotations

from typing import Any

from planning.models import CustomerOrder
from tests.calling import Program, done_once, pointers, problem
from tests.planning.dispatching import line, order, zone
from tests.planning.make import TODAY, Store

ORDER: dict[str, Any] = {
    "customer": "Pip Dunmore",
    "promised_on": TODAY.isoformat(),
    "lines": [
        {"kit": "KIT-PALE", "kits": 2, "yeast": "DRY-ALE"},
        {"item": "GYPSUM", "amount": {"amount": "25", "unit": "g"}},
    ],
}


def test_an_order_is_taken_once_read_changed_and_cancelled(planner: Program, house: Store) -> None:
    zone("NORTH")
    made = done_once(planner, "api-customer-order-list", body={**ORDER, "zone": "NORTH"})
    assert CustomerOrder.objects.count() == 1
    assert (made["zone"], made["kits"], made["state"]) == ("NORTH", 2, "open")
    assert [row["item"] for row in made["lines"]] == ["KIT-PALE", "GYPSUM"]
    assert made["lines"][0]["yeast"] == "DRY-ALE"
    assert planner.read("api-customer-order-detail", made["id"]) == made
    lines = [{"kit": "KIT-PALE", "kits": 7}]
    body = {**ORDER, "lines": lines, "version": made["version"]}
    changed = planner.does("api-customer-order-change", made["id"], body=body)
    assert (changed["kits"], changed["zone"]) == (7, "")
    problem(
        planner.post("api-customer-order-change", made["id"], body=body),
        409,
        "changed-by-someone-else",
    )
    asked = {"version": changed["version"], "reason": "Moved away"}
    done = planner.does("api-customer-order-cancel", made["id"], body=asked)
    assert done["state"] == "cancelled"
    assert planner.read("api-customer-order-list")["results"] == []
    assert len(planner.read("api-customer-order-list", state="all")["results"]) == 1


def test_what_cannot_be_taken_is_said(planner: Program, house: Store) -> None:
    wrong = [
        {"kit": "KIT-PALE"},
        {"kit": "KIT-PALE", "kits": 1, "item": "GYPSUM"},
        {"item": "GYPSUM", "amount": {"amount": "1", "unit": "L"}},
    ]
    answer = planner.post("api-customer-order-list", body={**ORDER, "lines": wrong})
    found = pointers(answer)
    assert {pointer.split("/")[2] for pointer in found} == {"0", "1", "2"}
    coast = {**ORDER, "zone": zone("COAST", ship_weekdays="3").code}
    told = problem(planner.post("api-customer-order-list", body=coast), 422, "zone-does-not-ship")
    assert "2026-03-05" in str(told)


def test_orders_cost_the_same_statements(viewer: Program, house: Store) -> None:
    line(order(), 1, kit=house.kit)
    few = viewer.statements("api-customer-order-list")
    for _each in range(9):
        line(order(), 1, kit=house.kit)
    assert viewer.statements("api-customer-order-list") == few
    problem(viewer.post("api-customer-order-list", body=ORDER), 403, "forbidden")
