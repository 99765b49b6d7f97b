"""Lots over the API: reading them, and receiving one."""

from __future__ import annotations

from typing import Any

import pytest

from inventory.models import ItemKind, Lot
from tests.calling import Program, done_once, pointers, problem
from tests.make import RECEIVED_ON, conversion, item, lot, place, reservation


@pytest.fixture
def delivery(db: None) -> dict[str, Any]:
    """Return the body of a delivery of two and a half kilograms of a hop."""
    item("CASK", ItemKind.HOP)
    place("COLD")
    return {
        "code": "H-1",
        "item": "CASK",
        "quantity": {"amount": "2.5", "unit": "kg"},
        "place": "COLD",
        "received_on": "2026-02-27",
        "best_before_on": "2027-02-27",
        "packing": "barrier",
        "cost": {"amount": "61.25", "currency": "USD"},
    }


def test_a_delivery_becomes_a_lot_in_quarantine(owner: Program, delivery: dict[str, Any]) -> None:
    made = owner.does("api-lot-list", body=delivery)
    assert made["status"] == "quarantine"
    assert made["on_hand"] == {"quantity": 2_500_000, "unit": "mg", "text": "2.500 kg"}
    assert made["cost"] == {"amount": "61.25", "currency": "USD"}
    assert made["cost_for"]["quantity"] == 2_500_000
    [held] = made["held"]
    assert (held["place"], held["quantity"]["quantity"]) == ("COLD", 2_500_000)
    [move] = made["moves"]
    assert (move["kind"], move["change"]["quantity"]) == ("receipt", 2_500_000)
    assert owner.read("api-lot-detail", made["id"]) == made


def test_a_hop_may_come_in_another_form(owner: Program, delivery: dict[str, Any]) -> None:
    assert owner.does("api-lot-list", body=delivery)["form"] == "pellet"
    other = delivery | {"code": "H-2", "form": "cone"}
    assert owner.does("api-lot-list", body=other)["form"] == "cone"


def test_a_delivery_sent_again_is_received_once(owner: Program, delivery: dict[str, Any]) -> None:
    done_once(owner, "api-lot-list", body=delivery)
    assert Lot.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"quantity": {"amount": "2.5", "unit": "L"}}, "#/quantity/unit"),
        ({"quantity": {"amount": "-1", "unit": "kg"}}, "#/quantity/amount"),
        ({"quantity": {"amount": "lots", "unit": "kg"}}, "#/quantity/amount"),
        ({"quantity": {"amount": "1", "unit": "stone"}}, "#/quantity/unit"),
        ({"quantity": "2.5 kg"}, "#/quantity"),
        ({"item": "NOTHING"}, "#/item"),
        ({"place": "CUSTOMER"}, "#/place"),
        ({"received_on": "2026-12-24"}, "#/received_on"),
        ({"received_on": "yesterday"}, "#/received_on"),
        ({"cost": {"amount": "1", "currency": "EUR"}}, "#/cost/currency"),
        ({"cost": {"amount": "1.00001", "currency": "USD"}}, "#/cost/amount"),
        ({"packing": "sack"}, "#/packing"),
    ],
)
def test_what_cannot_be_read_is_pointed_at(
    owner: Program, delivery: dict[str, Any], wrong: dict[str, Any], where: str
) -> None:
    assert pointers(owner.post("api-lot-list", body=delivery | wrong)) == {where}
    assert not Lot.objects.exists()


def test_pieces_are_received_whole(owner: Program, delivery: dict[str, Any]) -> None:
    item("BOX", ItemKind.PACKAGING)
    boxes = {
        **delivery,
        "item": "BOX",
        "packing": "",
        "quantity": {"amount": "10.5", "unit": "each"},
    }
    assert pointers(owner.post("api-lot-list", body=boxes)) == {"#/quantity/amount"}


def test_a_code_taken_is_refused_with_its_facts(owner: Program, delivery: dict[str, Any]) -> None:
    lot("H-1")
    told = problem(owner.post("api-lot-list", body=delivery), 422, "lot-code-taken")
    assert told["facts"] == {"lot": "H-1"}


def test_a_delivery_without_a_request_key_is_refused(
    owner: Program, delivery: dict[str, Any]
) -> None:
    problem(owner.post("api-lot-list", body=delivery, key=""), 400, "request-key-missing")


def test_a_viewer_reads_lots_and_receives_none(viewer: Program, delivery: dict[str, Any]) -> None:
    assert viewer.read("api-lot-list")["count"] == 0
    told = problem(viewer.post("api-lot-list", body=delivery), 403, "forbidden")
    assert "receive lot" in told["detail"]
    assert viewer.client.delete("/api/v1/lots/").status_code == 405


def test_lots_are_found_by_what_they_are(owner: Program) -> None:
    hop = item("CASK", ItemKind.HOP)
    lot("H-1", item=hop)
    lot("H-2", item=hop, status="on_hold")
    lot("P-1")

    def found(**query: Any) -> list[str]:
        return [row["code"] for row in owner.read("api-lot-list", **query)["results"]]

    assert found() == ["H-1", "H-2", "P-1"]
    assert found(kind="hop") == ["H-1", "H-2"]
    assert found(item="PALE") == ["P-1"]
    assert found(status="on_hold") == ["H-2"]
    assert found(text="p-1", in_stock="true") == ["P-1"]
    assert pointers(owner.get("api-lot-list", status="expired")) == {"#/status"}
    assert pointers(owner.get("api-lot-list", item="NOTHING")) == {"#/item"}


def test_a_lot_shows_what_is_reserved_of_it(owner: Program) -> None:
    made = lot(quantity=1000)
    reservation(conversion("WORK"), made, 300)
    read = owner.read("api-lot-detail", made.pk)
    assert read["available"]["quantity"] == 700
    [kept] = read["reservations"]
    assert (kept["conversion"], kept["quantity"]["quantity"]) == ("WORK", 300)
    assert read["received_on"] == RECEIVED_ON.isoformat()


def test_a_list_takes_as_many_statements_for_thirty_lots_as_for_three(owner: Program) -> None:
    for _ in range(3):
        lot()
    few = owner.statements("api-lot-list")
    for _ in range(27):
        lot()
    assert owner.statements("api-lot-list") == few


def test_a_lot_that_is_not_there_is_not_found(owner: Program) -> None:
    problem(owner.get("api-lot-detail", 999), 404, "not-found")
