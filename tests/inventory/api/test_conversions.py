"""Work on lots over the API."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.roles import Role
from inventory.models import ItemKind, Lot
from tests import make
from tests.calling import Program, done_once, pointers, problem
from tests.inventory.works import hop, milled, on_hand, packed

ON = "2026-03-02"


def _mg(amount: int) -> dict[str, str]:
    return {"amount": str(amount), "unit": "mg"}


def _taken(code: str, quantity: int) -> dict[str, Any]:
    return {"lot": code, "quantity": _mg(quantity), "place": "STORE"}


def _made(quantity: int, code: str = "NEW-1") -> dict[str, Any]:
    return {"code": code, "quantity": _mg(quantity), "place": "STORE"}


def _one(code: str, took: int, gave: int, **more: Any) -> dict[str, Any]:
    return {"taken": _taken(code, took), "made": _made(gave), "on": ON, **more}


@pytest.mark.parametrize(
    ("door", "kind", "more"),
    [
        ("api-conversion-repack", ItemKind.HOP, {"packing": "barrier"}),
        ("api-conversion-mill", ItemKind.GRAIN, {}),
        ("api-conversion-decant", ItemKind.EXTRACT, {}),
    ],
)
def test_one_lot_becomes_another_once(
    owner: Program, door: str, kind: ItemKind, more: dict[str, str]
) -> None:
    make.lot("BULK-1", item=make.item("BULK", kind))
    left = {"quantity": _mg(50)}
    body = _one("BULK-1", 500, 440, left=left, reason="dust", **more)
    told = done_once(owner, door, body=body)
    assert (on_hand("BULK-1"), on_hand("NEW-1")) == (550, 440)
    assert told["opened_lot"] == "BULK-1"
    [balance] = told["balances"]
    assert [balance[name]["quantity"] for name in ("used", "made", "lost")] == [450, 440, 10]
    assert owner.read("api-conversion-detail", told["id"]) == told
    assert owner.read("api-conversion-list", text="NEW-1")["results"] == [told]


def test_lots_are_blended(owner: Program) -> None:
    make.lot("PALE-1")
    make.lot("PALE-2")
    taken = [_taken("PALE-1", 100), _taken("PALE-2", 50)]
    body = {"taken": taken, "made": _made(150), "on": ON}
    told = owner.does("api-conversion-blend", body=body)
    assert [row["quantity"]["quantity"] for row in told["inputs"]] == [100, 50]
    assert on_hand("NEW-1") == 150


def test_kits_are_broken_down(owner: Program) -> None:
    kits = packed((make.lot("PALE-1"), 500), (hop(), 100), kits=10)
    held = owner.read("api-lot-contents", kits.pk, kits=4)["contents"]
    assert owner.get("api-lot-contents", kits.pk, kits=11).status_code == 400
    assert [(row["lot"], row["quantity"]["quantity"]) for row in held] == [
        ("PALE-1", 200),
        ("FUG-1", 40),
    ]
    returned = [
        {"lot": row["lot"], "quantity": _mg(row["quantity"]["quantity"]), "code": f"B-{number}"}
        | {"place": "STORE"}
        for number, row in enumerate(held)
    ]
    taken = {"lot": "KITS-1", "quantity": {"amount": "4", "unit": "each"}, "place": "STORE"}
    body = {"taken": taken, "returned": returned, "on": ON}
    told = owner.does("api-conversion-break-down", body=body)
    assert [row["goes_on_from"] for row in told["outputs"]] == ["PALE-1", "FUG-1"]
    assert (on_hand("KITS-1"), on_hand("B-0"), on_hand("B-1")) == (6, 200, 40)


def test_work_is_taken_back(owner: Program) -> None:
    work = milled(make.lot("PALE-1"), 100, 100)
    told = done_once(owner, "api-conversion-undo", work.pk, body={"reason": "wrong lot"})
    assert (told["state"], told["taken_back"]) == ("cancelled", "wrong lot")
    assert Lot.objects.get(code="NEW-1").status == "rejected"
    missing = owner.post("api-conversion-undo", 999_999, body={"reason": "no"})
    problem(missing, 404, "not-found")


def test_what_does_not_add_up_is_refused_with_the_figures(owner: Program) -> None:
    make.lot("PALE-1")
    answer = owner.post("api-conversion-mill", body=_one("PALE-1", 100, 101))
    assert "more than went in" in problem(answer, 422, "more-out-than-in")["detail"]


def test_the_field_that_is_wrong_is_named(owner: Program) -> None:
    make.lot("PALE-1")
    wrong = _one("PALE-1", 100, 100)
    wrong["taken"]["quantity"] = {"amount": "1", "unit": "L"}
    assert pointers(owner.post("api-conversion-mill", body=wrong)) == {"#/taken/quantity/unit"}
    assert "#/on" in pointers(
        owner.post("api-conversion-mill", body=_one("PALE-1", 1, 1) | {"on": "2026-03-03"})
    )
    empty = {"taken": [], "made": _made(1), "on": ON}
    assert pointers(owner.post("api-conversion-blend", body=empty)) == {"#/taken"}


def test_the_wrong_role_does_no_work(viewer: Program, db: None) -> None:
    make.lot("PALE-1")
    answer = viewer.post("api-conversion-mill", body=_one("PALE-1", 100, 100))
    assert answer.status_code == 403
    packer = Program(Role.PACKER)
    work = packer.does("api-conversion-mill", body=_one("PALE-1", 100, 100))
    undo = packer.post("api-conversion-undo", work["id"], body={"reason": "no"})
    assert undo.status_code == 403


@pytest.mark.parametrize("count", [2, 8])
def test_the_list_costs_the_same_however_long(owner: Program, count: int) -> None:
    for number in range(count):
        milled(make.lot(f"PALE-{number}"), 100, 100, code=f"NEW-{number}")
    assert owner.statements("api-conversion-list") == 4
