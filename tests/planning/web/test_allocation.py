"""The allocation board: lots by run, how good they are, and reserving by them."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.jobs.models import Job
from inventory.models import Lot
from inventory.services.lots import hold_lot
from planning.models import LotPlan, Run, RunState
from planning.services.allocating import ask_allocation
from planning.tasks import allocate
from tests.planning.make import PACK_ON, Store, grams
from tests.planning.make import planner as the_planner
from tests.planning.web.asking import send, statements, text_of


def searched() -> LotPlan:
    job = ask_allocation(by=the_planner())
    allocate(job.pk)
    return LotPlan.objects.get(job=job)


@pytest.fixture
def run(house: Store) -> Run:
    return house.plan(10)


def test_before_the_first_search_the_board_says_what_to_do(house: Store, planner: Client) -> None:
    assert "No lots have been chosen" in text_of(planner, "allocation-board")


def test_a_search_is_asked_for_once_and_watched(run: Run, planner: Client) -> None:
    for _ in range(2):
        assert send(planner, "allocation-search", key="once").status_code == 303
    (job,) = Job.objects.filter(name="planning.allocate")
    assert f"job {job.pk}" in text_of(planner, "allocation-board")
    leads = '<a id="job-page" href="/allocation/">The allocation</a>'
    assert leads not in text_of(planner, "job-detail", job.pk)

    allocate(job.pk)

    assert leads in text_of(planner, "job-detail", job.pk)

    text = text_of(planner, "allocation-board")
    assert "All 10 kits have their lots." in text
    assert "No plan has fewer than 1 batch." in text
    assert "BITTER-A" in text
    assert "A search is under way" not in text


def test_the_board_says_where_a_lot_changes_and_what_is_short(
    house: Store, planner: Client
) -> None:
    Lot.objects.filter(code="BITTER-A").update(best_before_on=PACK_ON)
    house.lot(house.goods.bittering, grams(300), code="SMALL", alpha=0.08)
    house.plan(50)
    late = house.plan(30)
    Run.objects.filter(pk=late.pk).update(pack_on=PACK_ON.replace(day=20))
    searched()

    text = text_of(planner, "allocation-board")

    assert "kits have no lots." in text
    assert house.goods.bittering.name in text
    assert "no plan that serves as many firm orders has lots for more" in text


def test_a_run_is_reserved_from_the_board_once(run: Run, planner: Client) -> None:
    plan = searched()
    for _ in range(2):
        answer = send(
            planner,
            "allocation-reserve",
            plan.pk,
            run.pk,
            form={"version": run.version},
            key="once",
        )
        assert answer.status_code == 303
    run.refresh_from_db()
    assert run.state == RunState.RESERVED
    text = text_of(planner, "allocation-board")
    assert "Something changed since" not in text
    assert f"Reserve {run.code} by this" not in text


def test_what_changed_since_is_said_and_a_stale_reserve_is_refused(
    house: Store, run: Run, planner: Client
) -> None:
    plan = searched()
    lot = Lot.objects.get(code="BITTER-A")
    hold_lot(by=house.by, lot=lot, expected=lot.version, reason="smells of cheese")
    house.plan(5)

    text = text_of(planner, "allocation-board")
    answer = send(planner, "allocation-reserve", plan.pk, run.pk, form={"version": run.version})

    assert "Something changed since" in text
    assert "The stock of BITTER-A is not what it was." in text
    assert "has kits that were not planned then." in text
    assert answer.status_code == 422
    assert "cannot be reserved by this allocation any more" in answer.content.decode()
    run.refresh_from_db()
    assert run.state == RunState.PLANNED


def test_a_packer_reads_the_board_and_searches_nothing(run: Run, packer: Client) -> None:
    searched()
    assert "Search for a better allocation" not in text_of(packer, "allocation-board")
    assert send(packer, "allocation-search").status_code == 403


def test_the_board_costs_the_same_for_one_run_and_for_many(house: Store, planner: Client) -> None:
    house.plan(2)
    searched()
    one = statements(planner, "allocation-board")
    for _ in range(4):
        house.plan(2)
    searched()
    assert statements(planner, "allocation-board") == one
