"""Runs over the API: planned, seen, cut."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.roles import Role
from planning.models import Run
from tests.calling import Program, done_once, pointers, problem
from tests.planning.make import PACK_ON, Store

PLAN: dict[str, Any] = {"pack_on": PACK_ON.isoformat(), "lines": [{"kit": "KIT-PALE", "kits": 10}]}


def test_a_run_is_planned_once(planner: Program, house: Store) -> None:
    made = done_once(planner, "api-run-list", body={**PLAN, "code": "R-ONE", "note": "first"})
    assert (made["code"], made["state"], made["kits"], made["version"]) == (
        "R-ONE",
        "planned",
        10,
        1,
    )
    assert Run.objects.count() == 1
    assert planner.read("api-run-detail", made["id"]) == made


def test_a_run_is_planned_with_the_yeast_asked_for(planner: Program, house: Store) -> None:
    lines = [{"kit": "KIT-PALE", "kits": 4, "yeast": "DRY-ALE"}]
    made = planner.does("api-run-list", body={**PLAN, "lines": lines})
    assert made["code"] == f"R{PACK_ON:%y%m%d}-1"
    assert made["lines"][0]["yeast_name"] == "Dry-Ale"


@pytest.mark.parametrize(
    ("wrong", "where"),
    [
        ({"pack_on": "Monday"}, "#/pack_on"),
        ({"pack_on": "9999-12-31"}, "#/pack_on"),
        ({"pack_on": "0026-03-09"}, "#/pack_on"),
        ({"lines": "KIT-PALE"}, "#/lines"),
        ({"lines": [{"kit": "NOTHING", "kits": 1}]}, "#/lines/0/kit"),
        ({"lines": [{"kit": "KIT\0", "kits": 1}]}, "#/lines/0/kit"),
        ({"lines": [{"kit": "KIT-PALE", "kits": 0}]}, "#/lines/0/kits"),
        ({"lines": [{"kit": "KIT-PALE", "kits": 1, "yeast": "CRYSTAL"}]}, "#/lines/0/yeast"),
        ({"code": "no such code"}, "#/code"),
    ],
)
def test_a_plan_that_cannot_be_read_is_pointed_at(
    planner: Program, house: Store, wrong: dict[str, Any], where: str
) -> None:
    assert pointers(planner.post("api-run-list", body=PLAN | wrong)) == {where}
    assert not Run.objects.exists()


def test_a_plan_that_planning_refuses_says_why(planner: Program, house: Store) -> None:
    twice = {**PLAN, "lines": PLAN["lines"] * 2}
    problem(planner.post("api-run-list", body=twice), 422, "kit-twice-in-run")
    problem(planner.post("api-run-list", body={**PLAN, "lines": []}), 422, "run-empty")
    planner.does("api-run-list", body={**PLAN, "code": "R-ONE"})
    again = planner.post("api-run-list", body={**PLAN, "code": "R-ONE"})
    problem(again, 422, "run-code-taken")


def test_a_packer_reads_runs_and_plans_none(house: Store) -> None:
    packer = Program(Role.PACKER)
    assert packer.read("api-run-list")["count"] == 0
    problem(packer.post("api-run-list", body=PLAN), 403, "forbidden")


def test_a_planned_run_shows_how_it_would_be_cut(viewer: Program, house: Store) -> None:
    run = house.plan()
    cut = viewer.read("api-run-cut", run.pk)
    assert cut["complete"] is True
    [line] = cut["lines"]
    assert (line["kit"], line["possible"]) == ("KIT-PALE", 10)
    hops = line["batches"][0]["hops"]
    assert {hop["lot"] for hop in hops} == {"BITTER-A", "AROMA-A"}
    assert all(hop["per_kit"]["unit"] == "mg" for hop in hops)
    assert line["batches"][0]["working"]["value"] == pytest.approx(
        line["batches"][0]["ibu_balanced"]
    )


def test_a_cut_says_what_is_short(viewer: Program, house: Store) -> None:
    run = house.plan(kits=400)
    cut = viewer.read("api-run-cut", run.pk)
    assert cut["complete"] is False
    short = {row["item"]: row for row in cut["shortages"]}
    extract = short["EXTRACT"]
    assert extract["short"]["quantity"] == (
        extract["needed"]["quantity"] - extract["available"]["quantity"]
    )


def test_a_reserved_run_is_cut_already(viewer: Program, house: Store) -> None:
    problem(viewer.get("api-run-cut", house.reserved().pk), 422, "run-not-planned")


def test_a_reserved_run_is_read_whole(viewer: Program, house: Store) -> None:
    read = viewer.read("api-run-detail", house.reserved().pk)
    [batch] = read["batches"]
    assert (batch["kits"], batch["state"], batch["troubles"]) == (10, "reserved", [])
    hop = next(row for row in batch["allocations"] if row["lot"] == "BITTER-A")
    assert hop["quantity"]["quantity"] >= 10 * hop["per_kit"]["quantity"]
    assert hop["used"] is None
    [sheet] = batch["sheets"]
    assert sheet["content"]["batch"] == batch["code"]


def test_a_run_that_is_not_there_is_not_found(viewer: Program) -> None:
    problem(viewer.get("api-run-detail", 999), 404, "run-not-found")
    problem(viewer.get("api-run-cut", 999), 404, "not-found")


def test_a_list_takes_as_many_statements_for_thirty_runs_as_for_three(
    viewer: Program, house: Store
) -> None:
    for _ in range(3):
        house.plan(kits=1)
    few = viewer.statements("api-run-list", only_open="true")
    for _ in range(27):
        house.plan(kits=1)
    assert viewer.statements("api-run-list", only_open="true") == few
