"""Purchase orders over the API: drafted, sent, received, undone, cancelled."""

from __future__ import annotations

import pytest

from boxwort.roles import Role
from inventory.models import Lot
from inventory.services.catalogue import write_offer
from planning.models import OrderState, Receipt
from tests.calling import Program, problem
from tests.planning.buying import ON, SACK, Market, market
from tests.planning.make import Store, grams


@pytest.fixture
def shop(db: None) -> Market:
    return market()


def test_orders_are_read_by_state(shop: Market, viewer: Program) -> None:
    order = shop.sent()
    (row,) = viewer.read("api-purchase-order-list", state="sent")["results"]
    assert (row["code"], row["supplier"], row["total"]["amount"]) == (
        order.code,
        "MALTCO",
        "160.00",
    )
    assert viewer.read("api-purchase-order-list", state="draft")["results"] == []
    (line,) = viewer.read("api-purchase-order-detail", order.pk)["lines"]
    assert (line["item"], line["packs"], line["left"]["text"]) == ("PALE", 4, "100.000 kg")
    assert viewer.get("api-purchase-order-detail", 0).status_code == 404


def test_what_the_list_proposes_is_drafted_once_and_sent(house: Store, planner: Program) -> None:
    shop = market()
    write_offer(
        by=shop.by,
        supplier=shop.supplier,
        item=house.goods.bittering,
        pack_quantity=grams(5000),
        breaks=[(1, 900_000)],
    )
    house.plan(200)
    (drafted,) = planner.does("api-purchase-order-draft", body={"supplier": "MALTCO"})["orders"]
    (again,) = planner.does("api-purchase-order-draft", body={"supplier": "MALTCO"})["orders"]
    assert drafted["id"] == again["id"]
    refused = planner.post("api-purchase-order-draft", body={"supplier": "NOBODY"})
    assert refused.status_code == 400
    body = {"version": again["version"], "on": str(ON)}
    sent = planner.does("api-purchase-order-send", again["id"], body=body)
    assert sent["order"]["state"] == "sent"


def test_a_delivery_is_taken_in_and_back(shop: Market, planner: Program) -> None:
    order = shop.sent()
    line = order.lines.get()
    body = {
        "version": order.version,
        "received_on": str(ON),
        "place": "DRY",
        "freight": {"amount": "10", "currency": planner_currency(planner, order.pk)},
        "lines": [
            {
                "line_id": line.pk,
                "quantity": {"amount": "75", "unit": "kg"},
                "damaged": {"amount": "25", "unit": "kg"},
                "damage": "wet",
                "supplier_lot": "DV-1",
            }
        ],
    }
    got = planner.does("api-purchase-order-receive", order.pk, body=body)
    (receipt,) = got["receipts"]
    assert receipt["lines"][0]["landed"]["amount"] == "130.00"
    assert Lot.objects.get().stock.on_hand == 3 * SACK
    assert got["order"]["state"] == OrderState.PART_RECEIVED
    undone = {"version": receipt["version"], "reason": "not ours"}
    back = planner.does("api-receipt-undo", receipt["id"], body=undone)
    assert (back["order"]["state"], back["receipts"][0]["undone"]) == ("sent", True)


def planner_currency(program: Program, order_id: int) -> str:
    found: str = program.read("api-purchase-order-detail", order_id)["order"]["total"]["currency"]
    return found


def test_a_line_of_another_order_and_a_wrong_unit_are_told(shop: Market, planner: Program) -> None:
    order = shop.sent()
    body = {"version": order.version, "received_on": str(ON), "place": "DRY"}
    other = body | {"lines": [{"line_id": 0}]}
    assert planner.post("api-purchase-order-receive", order.pk, body=other).status_code == 400
    litres = {"line_id": order.lines.get().pk, "quantity": {"amount": "1", "unit": "L"}}
    wrong = body | {"lines": [litres]}
    assert planner.post("api-purchase-order-receive", order.pk, body=wrong).status_code == 400
    assert Receipt.objects.count() == 0


def test_an_order_is_cancelled_with_a_reason(shop: Market, planner: Program) -> None:
    order = shop.sent()
    body = {"version": order.version, "reason": "twice"}
    got = planner.does("api-purchase-order-cancel", order.pk, body=body)
    assert got["order"]["state"] == "cancelled"
    problem(
        planner.post("api-purchase-order-cancel", order.pk, body=body | {"version": 9}),
        422,
        "order-is-over",
    )


def test_a_viewer_changes_nothing(shop: Market, viewer: Program) -> None:
    order = shop.draft()
    for name in ("send", "cancel", "receive"):
        assert viewer.post(f"api-purchase-order-{name}", order.pk).status_code == 403


def test_what_kits_cost_is_read_with_its_working(house: Store) -> None:
    (row,) = Program(Role.VIEWER).read("api-kit-cost-list")["results"]
    assert row["kit"] == house.kit.item.code
    assert row["working"]["formula"] == "sum of parts"
