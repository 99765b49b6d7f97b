"""What is done to a run over the API, from reserving to closing."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import connection

from boxwort.roles import Role
from inventory.models import Lot
from planning.models import Run
from planning.queries.cuts import RunPlan, run_plan
from planning.services.packing import start_packing
from tests.calling import Program, done_once, pointers, problem
from tests.planning.make import PACK_ON, TODAY, Store

ACTS = ["reserve", "give-back", "start", "close", "cancel"]


def version(run: Run) -> dict[str, Any]:
    run.refresh_from_db()
    return {"version": run.version}


def pack(batch: dict[str, Any], **more: Any) -> dict[str, Any]:
    body = {"version": batch["version"], "kits": 10, "place": "COLD", "packed_on": str(TODAY)}
    return {**body, **more}


@pytest.fixture
def packing(house: Store) -> Run:
    run = house.reserved(pack_on=TODAY)
    start_packing(by=house.by, run=run, expected=run.version)
    return run


@pytest.fixture
def batch(packing: Run, planner: Program) -> dict[str, Any]:
    found: dict[str, Any] = planner.read("api-run-detail", packing.pk)["batches"][0]
    return found


def test_a_run_is_reserved_once(planner: Program, house: Store) -> None:
    run = house.plan()
    made = done_once(planner, "api-run-reserve", run.pk, body=version(run))
    assert (made["state"], made["version"], len(made["batches"])) == ("reserved", 2, 1)


def test_weights_are_worked_out_before_the_reservation_holds_anything(
    planner: Program, house: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    depths = []

    def cut(run: Run) -> RunPlan:
        depths.append(len(connection.savepoint_ids))
        return run_plan(run)

    outside = len(connection.savepoint_ids)
    monkeypatch.setattr("planning.api.run_acts.run_plan", cut)
    monkeypatch.setattr("planning.services.reserving.run_plan", cut)
    run = house.plan()
    planner.does("api-run-reserve", run.pk, body=version(run))
    assert depths == [outside]


def test_packing_begins_once(planner: Program, house: Store) -> None:
    run = house.reserved()
    begun = done_once(planner, "api-run-start", run.pk, body=version(run))
    assert (begun["state"], begun["batches"][0]["state"]) == ("packing", "reserved")


def test_a_run_that_is_short_is_refused_with_its_figures(planner: Program, house: Store) -> None:
    run = house.plan(kits=400)
    answer = planner.post("api-run-reserve", run.pk, body=version(run))
    facts = problem(answer, 422, "run-short")["facts"]
    assert {row["item"] for row in facts["shortages"]} >= {"EXTRACT"}
    assert planner.read("api-run-detail", run.pk)["state"] == "planned"


def test_a_run_is_given_back_and_cancelled(planner: Program, house: Store) -> None:
    run = house.reserved()
    back = done_once(planner, "api-run-give-back", run.pk, body=version(run))
    assert (back["state"], back["batches"][0]["state"]) == ("planned", "cancelled")
    gone = done_once(
        Program(), "api-run-cancel", run.pk, body={**version(run), "reason": "no boxes"}
    )
    assert gone["state"] == "cancelled"


def test_a_batch_is_packed_and_the_run_closed(
    planner: Program, packing: Run, batch: dict[str, Any]
) -> None:
    hop = next(row for row in batch["allocations"] if row["lot"] == "BITTER-A")
    used = [{"allocation": hop["id"], "quantity": {"amount": "400", "unit": "g"}}]
    made = done_once(planner, "api-batch-pack", batch["id"], body=pack(batch, used=used))
    [packed] = made["batches"]
    assert (packed["state"], packed["packed_kits"]) == ("packed", 10)
    taken = {row["id"]: row["used"]["quantity"] for row in packed["allocations"]}
    assert taken[hop["id"]] == 400_000
    assert Lot.objects.get(code=batch["code"]).stock.on_hand == 10
    closed = done_once(Program(), "api-run-close", packing.pk, body=version(packing))
    assert closed["state"] == "closed"


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"kits": 0}, "#/kits"),
        ({"place": "CUSTOMER"}, "#/place"),
        ({"packed_on": PACK_ON.isoformat()}, "#/packed_on"),
        (
            {"used": [{"allocation": 999, "quantity": {"amount": "1", "unit": "g"}}]},
            "#/used/0/allocation",
        ),
    ],
)
def test_packing_that_cannot_be_read_is_pointed_at(
    planner: Program, batch: dict[str, Any], wrong: dict[str, Any], where: str
) -> None:
    answer = planner.post("api-batch-pack", batch["id"], body=pack(batch, **wrong))
    assert pointers(answer) == {where}


def test_what_was_used_is_in_the_measure_of_its_lot_and_named_once(
    planner: Program, batch: dict[str, Any]
) -> None:
    row = {"allocation": batch["allocations"][0]["id"]}
    litre = [{**row, "quantity": {"amount": "1", "unit": "L"}}]
    answer = planner.post("api-batch-pack", batch["id"], body=pack(batch, used=litre))
    assert pointers(answer) == {"#/used/0/quantity/unit"}
    twice = [{**row, "quantity": {"amount": "1", "unit": "g"}}] * 2
    answer = planner.post("api-batch-pack", batch["id"], body=pack(batch, used=twice))
    assert pointers(answer) == {"#/used"}


def test_what_another_batch_takes_is_not_used_by_this_one(
    planner: Program, house: Store, batch: dict[str, Any]
) -> None:
    other = planner.read("api-run-detail", house.reserved(kits=5).pk)["batches"][0]
    used = [
        {
            "allocation": other["allocations"][0]["id"],
            "quantity": {"amount": "1", "unit": "g"},
        }
    ]
    answer = planner.post("api-batch-pack", batch["id"], body=pack(batch, used=used))
    problem(answer, 422, "used-of-another-batch")


def test_packing_asks_its_questions(planner: Program, batch: dict[str, Any]) -> None:
    body = pack(batch)
    problem(Program(Role.VIEWER).post("api-batch-pack", batch["id"], body=body), 403, "forbidden")
    problem(planner.post("api-batch-pack", 999, body=body), 404, "not-found")
    problem(
        planner.post("api-batch-pack", batch["id"], body=body, key=""), 400, "request-key-missing"
    )
    more = planner.post("api-batch-pack", batch["id"], body=pack(batch, kits=11))
    problem(more, 422, "kits-out-of-range")
    late = planner.post("api-batch-pack", batch["id"], body=pack(batch, version=9))
    problem(late, 409, "changed-by-someone-else")
    problem(planner.get("api-batch-pack", batch["id"]), 405, "method-not-allowed")


@pytest.mark.parametrize("act", ACTS)
def test_an_act_on_a_run_asks_its_questions(planner: Program, house: Store, act: str) -> None:
    name, run = f"api-run-{act}", house.plan()
    problem(Program(Role.DEVELOPER).post(name, run.pk, body=version(run)), 403, "forbidden")
    problem(planner.post(name, 999, body={"version": 1}), 404, "not-found")
    assert pointers(planner.post(name, run.pk)) == {"#/version"}
    problem(planner.post(name, run.pk, body=version(run), key=""), 400, "request-key-missing")
    problem(planner.get(name, run.pk), 405, "method-not-allowed")


@pytest.mark.parametrize("act", ["reserve", "cancel"])
def test_an_act_on_a_run_that_changed_meanwhile_is_a_conflict(
    planner: Program, house: Store, act: str
) -> None:
    answer = planner.post(f"api-run-{act}", house.plan().pk, body={"version": 7})
    problem(answer, 409, "changed-by-someone-else")


@pytest.mark.parametrize("act", ["give-back", "start", "close"])
def test_a_planned_run_cannot_be_given_back_packed_or_closed(
    planner: Program, house: Store, act: str
) -> None:
    run = house.plan()
    assert planner.post(f"api-run-{act}", run.pk, body=version(run)).status_code == 422
