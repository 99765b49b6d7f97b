"""Dispatch over the API: what would leave, dispatching it, reading and undoing it."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.roles import Role
from inventory.models import LotStock
from planning.models import CustomerOrder
from tests.calling import Program, problem
from tests.planning.dispatching import kits, line, one_order, shop, yeast
from tests.planning.make import TODAY, Store


@pytest.fixture
def made(db: None) -> Store:
    found = shop()
    kits(found, 10, "KITS-A")
    yeast(found, 60, "YEAST-A")
    return found


@pytest.fixture
def order(made: Store) -> CustomerOrder:
    return one_order(made, 4)


@pytest.fixture
def packer(db: None) -> Program:
    return Program(Role.PACKER)


def on_hand(code: str) -> int:
    return int(LotStock.objects.get(lot__code=code).on_hand)


def picks(choice: dict[str, Any], boxes: int) -> list[dict[str, Any]]:
    """Return so many boxes of the first line, each thing from the first lot proposed for it."""
    first = choice["lines"][0]
    rows = [
        {"key": row["key"], "lot": row["offers"][0]["lot"], "boxes": boxes} for row in first["rows"]
    ]
    return [{"line_id": first["line_id"], "picks": rows}]


def test_what_would_leave_is_read_and_what_is_proposed_is_sent(
    order: CustomerOrder, packer: Program
) -> None:
    choice = packer.read("api-dispatch-choices", order.pk)
    assert (choice["complete"], choice["ships"], choice["version"]) == (True, True, order.version)
    body = {"version": choice["version"], "shipped_on": str(TODAY)}
    sent = packer.does("api-order-dispatch", order.pk, body=body)
    assert (sent["order"], sent["order_state"]) == ("C-1", "dispatched")
    (box,) = sent["boxes"]
    assert (box["lot"], box["quantity"], box["allergens"]) == ("KITS-A", 4, ["barley"])
    assert box["parts"][0]["lot"] == "YEAST-A"
    assert packer.read("api-dispatch-detail", sent["id"]) == sent
    (row,) = packer.read("api-dispatch-list", order_id=order.pk)["results"]
    assert (row["code"], row["kits"]) == (sent["code"], 4)
    assert packer.read("api-dispatch-board")["results"] == []


def test_what_is_picked_is_sent_and_can_be_undone(order: CustomerOrder, packer: Program) -> None:
    choice = packer.read("api-dispatch-choices", order.pk)
    body = {"version": 1, "shipped_on": str(TODAY), "lines": picks(choice, 3)}
    sent = packer.does("api-order-dispatch", order.pk, body=body)
    assert on_hand("KITS-A") == 7
    undo = {"version": sent["version"], "reason": "the wrong order"}
    undone = packer.does("api-dispatch-undo", sent["id"], body=undo)
    assert undone["undone_at"] is not None
    assert (undone["order_state"], on_hand("KITS-A")) == ("open", 10)


def test_picks_that_make_no_whole_box_are_refused(order: CustomerOrder, packer: Program) -> None:
    choice = packer.read("api-dispatch-choices", order.pk)
    lines = picks(choice, 3)
    lines[0]["picks"][0]["boxes"] = 2
    body = {"version": 1, "shipped_on": str(TODAY), "lines": lines}
    problem(packer.post("api-order-dispatch", order.pk, body=body), 422, "boxes-not-whole")
    body = {"version": 9, "shipped_on": str(TODAY)}
    problem(packer.post("api-order-dispatch", order.pk, body=body), 409, "changed-by-someone-else")
    assert on_hand("KITS-A") == 10


def test_a_viewer_reads_and_does_not_dispatch(made: Store, order: CustomerOrder) -> None:
    viewer = Program(Role.VIEWER)
    line(order, 700, item=made.goods.box)
    (row,) = viewer.read("api-dispatch-board")["results"]
    assert (row["kits"], row["kits_ready"], row["complete"]) == (4, 4, False)
    assert row["lacking"][0]["name"] == "Box"
    body = {"version": 1, "shipped_on": str(TODAY)}
    assert viewer.post("api-order-dispatch", order.pk, body=body).status_code == 403
