"""Stock is moved, counted and scrapped."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from inventory.models import Lot, PlaceKind
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, words_of

DOORS = ["lot-move", "lot-count", "lot-scrap"]
ON = {"occurred_on": "2026-03-02"}


def sack() -> Lot:
    return make.lot("PALE-1", 25_000_000)


def held(lot: Lot) -> dict[str, int]:
    balances = lot.balances.filter(place__kind=PlaceKind.STORAGE, quantity__gt=0)
    return dict(balances.values_list("place__code", "quantity"))


def act(browser: Client, door: str, lot: Lot, **changed: Any) -> Any:
    store = make.place().pk
    fields = {
        "lot-move": {"from_place": store, "to_place": make.place("COLD").pk, "quantity": "5", **ON},
        "lot-count": {"place": store, "counted": "24.5", "reason": "weekly count", **ON},
        "lot-scrap": {
            "place": store,
            "quantity": "500 g",
            "kind": "sample",
            "reason": "laboratory",
            **ON,
        },
    }
    return send(browser, door, lot.pk, **{"unit": "kg"} | fields[door] | changed)


@pytest.mark.parametrize(
    ("door", "role", "left"),
    [
        ("lot-move", Role.PACKER, {"STORE": 20_000_000, "COLD": 5_000_000}),
        ("lot-count", Role.PLANNER, {"STORE": 24_500_000}),
        ("lot-scrap", Role.PLANNER, {"STORE": 24_500_000}),
    ],
)
def test_stock_changes_as_it_was_written(
    enter: Enter, door: str, role: Role, left: dict[str, int]
) -> None:
    browser, lot = enter(role), sack()
    assert "in kg" in read(browser, door, lot.pk)
    assert act(browser, door, lot).status_code == 303
    assert held(lot) == left


@pytest.mark.parametrize(
    ("door", "all_of_it"),
    [
        ("lot-move", {"quantity": "25"}),
        ("lot-count", {"counted": "0"}),
        ("lot-scrap", {"quantity": "25"}),
    ],
)
def test_an_act_sent_twice_is_done_once(
    owner: Client, door: str, all_of_it: dict[str, str]
) -> None:
    lot = sack()
    for _ in range(2):
        assert act(owner, door, lot, key="once", **all_of_it).status_code == 303
    assert lot.moves.count() == 2


def test_a_number_means_the_unit_the_page_showed(owner: Client) -> None:
    lot = sack()
    act(owner, "lot-count", lot, counted="0.9", unit="kg")
    assert "Found there, in g" in read(owner, "lot-count", lot.pk)
    act(owner, "lot-count", lot, counted="0.8", unit="kg")
    assert held(lot) == {"STORE": 800_000}


@pytest.mark.parametrize(
    ("door", "changed", "words"),
    [
        ("lot-move", {"quantity": "lots"}, "Write a number of kg"),
        ("lot-move", {"quantity": "30"}, "PALE-1"),
        ("lot-move", {"from_place": "0"}, "Select a valid choice"),
        ("lot-move", {"occurred_on": "2026-03-03"}, "has not come yet"),
        ("lot-move", {"occurred_on": "2025-12-31"}, "was received on"),
        ("lot-count", {"reason": ""}, "This field is required"),
        ("lot-count", {"counted": "-1"}, "not below zero"),
        ("lot-scrap", {"quantity": "0"}, "quantity"),
        ("lot-scrap", {"reason": " "}, "This field is required"),
        ("lot-scrap", {"kind": "receipt"}, "Select a valid choice"),
    ],
)
def test_what_cannot_be_is_shown_again(
    owner: Client, door: str, changed: dict[str, str], words: str
) -> None:
    lot = sack()
    answer = act(owner, door, lot, **changed)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert held(lot) == {"STORE": 25_000_000}


@pytest.mark.parametrize("door", ["lot-move", "lot-scrap"])
def test_nothing_is_taken_of_a_lot_that_is_used_up(owner: Client, door: str) -> None:
    lot = sack()
    act(owner, "lot-count", lot, counted="0")
    assert "Nothing of lot PALE-1 is on hand" in read(owner, door, lot.pk, expect=422)


@pytest.mark.parametrize(
    ("door", "role"),
    [("lot-move", Role.DEVELOPER), ("lot-count", Role.PACKER), ("lot-scrap", Role.PACKER)],
)
def test_the_wrong_role_changes_no_stock(enter: Enter, door: str, role: Role) -> None:
    lot = sack()
    assert act(enter(role), door, lot).status_code == 403
    assert held(lot) == {"STORE": 25_000_000}


@pytest.mark.parametrize("door", DOORS)
def test_a_lot_that_is_not_there_has_no_stock(owner: Client, door: str) -> None:
    read(owner, door, 999_999, expect=404)


@pytest.mark.parametrize("door", DOORS)
def test_stock_is_not_deleted(owner: Client, door: str) -> None:
    assert owner.delete(reverse(door, args=[sack().pk])).status_code == 405
