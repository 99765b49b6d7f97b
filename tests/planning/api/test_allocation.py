"""The allocation over the API: asked for, read, reserved by."""

from __future__ import annotations

from boxwort.jobs.models import Job
from planning.models import RunState
from planning.tasks import allocate
from tests.calling import Program, done_once, problem
from tests.planning.make import Store


def test_there_is_no_allocation_before_the_first_search(viewer: Program, house: Store) -> None:
    assert viewer.get("api-allocation").status_code == 404


def test_lots_are_searched_for_read_and_reserved(
    planner: Program, viewer: Program, house: Store
) -> None:
    run = house.plan(10)
    asked = planner.does("api-allocation-search")
    allocate(asked["job"])

    read = viewer.read("api-allocation")
    assert (read["kits"], read["wanted"], read["batches"], read["status"]) == (10, 10, 1, "best")
    assert read["runs"][0]["reservable"]
    lots = read["runs"][0]["lines"][0]["batches"][0]["lots"]
    assert {lot["lot"] for lot in lots} == {"BITTER-A", "AROMA-A"}

    done_once(planner, "api-allocation-reserve", read["id"], run.pk, body={"version": run.version})
    run.refresh_from_db()
    assert run.state == RunState.RESERVED
    assert not viewer.read("api-allocation")["runs"][0]["reservable"]


def test_a_run_that_was_not_allotted_is_refused(planner: Program, house: Store) -> None:
    house.plan(10)
    allocate(planner.does("api-allocation-search")["job"])
    later = house.plan(5)
    plan = planner.read("api-allocation")["id"]

    answer = planner.post("api-allocation-reserve", plan, later.pk, body={"version": 1})

    problem(answer, 422, "not-allocated")
    later.refresh_from_db()
    assert later.state == RunState.PLANNED
    assert Job.objects.filter(name="planning.allocate").count() == 1
