"""Proposals over the API: asked for, read, decided."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.jobs.models import Job
from boxwort.roles import Role
from planning.models import Proposal
from tests.calling import Program, done_once, pointers, problem
from tests.planning.make import Store, do_jobs, open_proposals

DECISIONS = [("api-proposal-accept", "accepted"), ("api-proposal-refuse", "refused")]


@pytest.fixture
def proposal(house: Store) -> Proposal:
    """Return new weights for a reserved batch whose hop was measured again."""
    run = house.reserved()
    batch = run.lines.get().batches.get()
    lot = batch.allocations.get(lot__code="BITTER-A", current=True).lot
    house.analysed(lot, 0.07)
    do_jobs()
    [made] = open_proposals()
    return made


def test_a_proposal_shows_old_and_new_weights(viewer: Program, proposal: Proposal) -> None:
    read = viewer.read("api-proposal-detail", proposal.pk)
    row = next(row for row in read["rows"] if row["new_lot"] == "BITTER-A")
    assert row["new"]["quantity"] > row["old"]["quantity"]
    assert row["new"]["unit"] == "mg"
    assert abs(read["ibu_corrected"] - read["ibu_target"]) < abs(
        read["ibu_unchanged"] - read["ibu_target"]
    )
    assert read["working"]["parts"]


def test_proposals_are_found_by_state(viewer: Program, proposal: Proposal) -> None:
    assert viewer.read("api-proposal-list", state="open")["count"] == 1
    assert viewer.read("api-proposal-list", state="stale")["count"] == 0
    assert viewer.read("api-proposal-list")["results"][0]["id"] == proposal.pk
    assert pointers(viewer.get("api-proposal-list", state="lost")) == {"#/state"}


@pytest.mark.parametrize(("name", "state"), DECISIONS)
def test_a_proposal_is_decided_once(
    planner: Program, proposal: Proposal, name: str, state: str
) -> None:
    decided = done_once(planner, name, proposal.pk, body={"note": "weighed twice"})
    assert (decided["state"], decided["decided_by"], decided["decision_note"]) == (
        state,
        "planner",
        "weighed twice",
    )
    problem(planner.post(name, proposal.pk), 422, "proposal-decided")


def test_an_accepted_proposal_issues_a_new_sheet(planner: Program, proposal: Proposal) -> None:
    planner.does("api-proposal-accept", proposal.pk)
    run = planner.read("api-run-detail", proposal.batch.run_line.run_id)
    new, old = run["batches"][0]["sheets"]
    assert (new["number"], new["voided_at"]) == (2, None)
    assert old["voided_at"]


@pytest.mark.parametrize(("name", "state"), DECISIONS)
def test_a_decision_asks_its_questions(
    planner: Program, proposal: Proposal, name: str, state: str
) -> None:
    problem(Program(Role.PACKER).post(name, proposal.pk), 403, "forbidden")
    problem(planner.post(name, 999), 404, "not-found")
    assert pointers(planner.post(name, proposal.pk, body={"note": "x" * 201})) == {"#/note"}
    problem(planner.post(name, proposal.pk, key=""), 400, "request-key-missing")
    problem(planner.get(name, proposal.pk), 405, "method-not-allowed")


@pytest.mark.parametrize("body", [{}, {"run": "named below"}])
def test_balancing_again_is_asked_for_once(
    planner: Program, house: Store, body: dict[str, Any]
) -> None:
    run = house.reserved()
    if body:
        body = {"run": run.code}
    asked = done_once(planner, "api-rebalance", body=body)
    job = Job.objects.get()
    assert asked == {"jobs": [job.pk]}
    assert planner.read("api-job-detail", job.pk)["state"] == "queued"


def test_asking_to_balance_asks_its_questions(planner: Program, house: Store) -> None:
    problem(Program(Role.PACKER).post("api-rebalance"), 403, "forbidden")
    assert pointers(planner.post("api-rebalance", body={"run": "NOTHING"})) == {"#/run"}
    problem(planner.post("api-rebalance", key=""), 400, "request-key-missing")
    problem(planner.get("api-rebalance"), 405, "method-not-allowed")
    assert planner.does("api-rebalance") == {"jobs": []}


def test_a_proposal_that_is_not_there_is_not_found(viewer: Program) -> None:
    problem(viewer.get("api-proposal-detail", 999), 404, "proposal-not-found")


def test_a_list_takes_as_many_statements_for_thirty_proposals_as_for_three(
    viewer: Program, proposal: Proposal
) -> None:
    copy(proposal, 2)
    few = viewer.statements("api-proposal-list")
    copy(proposal, 27)
    assert viewer.statements("api-proposal-list") == few


def copy(proposal: Proposal, times: int) -> None:
    """Write so many proposals of the same batch that went out of date."""
    for _ in range(times):
        proposal.pk, proposal.state = None, "stale"
        proposal.save()
