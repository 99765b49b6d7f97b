"""A proposal is read with its figures and decided by a person who may."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.figures import NO_BREAK
from boxwort.jobs.models import Job
from planning.models import Proposal, ProposalState, SheetRevision
from tests.planning.make import Store, do_jobs, grams, open_proposals
from tests.planning.web.asking import send, text_of

DECISIONS = ("proposal-accept", "proposal-refuse")


@pytest.fixture
def proposal(house: Store) -> Proposal:
    run = house.reserved(10)
    lot = run.lines.get().batches.get().allocations.get(lot__code="BITTER-A").lot
    house.analysed(lot, 0.07)
    do_jobs()
    (made,) = open_proposals()
    return made


def test_an_empty_list_says_where_proposals_come_from(db: None, planner: Client) -> None:
    assert "A proposal comes by itself" in text_of(planner, "proposal-list")


def test_a_proposal_shows_both_weights_and_the_bitterness_with_and_without(
    proposal: Proposal, planner: Client
) -> None:
    text = text_of(planner, "proposal-detail", proposal.pk)
    (row,) = [row for row in proposal.rows if row["old"] != row["new"]]
    for weight in (row["old"], row["new"]):
        assert f"{weight / grams(1):.1f}{NO_BREAK}g" in text
    for bitterness in (proposal.ibu_target, proposal.ibu_unchanged, proposal.ibu_corrected):
        assert f"{bitterness:.1f}{NO_BREAK}IBU" in text
    assert "Bitterness after balancing" in text


def test_accepting_issues_a_new_sheet_once(proposal: Proposal, planner: Client) -> None:
    for _ in range(2):
        answer = send(planner, "proposal-accept", proposal.pk, form={"note": "seen"}, key="once")
        assert answer.status_code == 303
    proposal.refresh_from_db()
    assert (proposal.state, proposal.decision_note) == (ProposalState.ACCEPTED, "seen")
    assert SheetRevision.objects.filter(batch=proposal.batch).count() == 2


def test_refusing_keeps_the_sheet(proposal: Proposal, planner: Client) -> None:
    send(planner, "proposal-refuse", proposal.pk)
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.REFUSED
    assert SheetRevision.objects.filter(batch=proposal.batch, voided_at=None).count() == 1
    assert "Refused by" in text_of(planner, "proposal-detail", proposal.pk)


def test_what_is_decided_is_not_decided_again(proposal: Proposal, planner: Client) -> None:
    send(planner, "proposal-refuse", proposal.pk)
    answer = send(planner, "proposal-accept", proposal.pk)
    assert answer.status_code == 422
    assert "already" in answer.content.decode()


def test_a_packer_sees_a_proposal_and_does_not_decide_it(
    proposal: Proposal, packer: Client
) -> None:
    text = text_of(packer, "proposal-detail", proposal.pk)
    for name in DECISIONS:
        assert reverse(name, args=[proposal.pk]) not in text
        assert send(packer, name, proposal.pk).status_code == 403


def test_decided_proposals_are_listed_when_asked_for(proposal: Proposal, planner: Client) -> None:
    assert proposal.batch.code in text_of(planner, "proposal-list")
    send(planner, "proposal-refuse", proposal.pk)
    assert proposal.batch.code not in text_of(planner, "proposal-list")
    everything = planner.get(reverse("proposal-list"), {"show": "all"})
    assert proposal.batch.code in everything.content.decode()


def test_balancing_again_asks_for_a_job_and_leads_to_it(
    proposal: Proposal, planner: Client
) -> None:
    run = proposal.batch.run_line.run
    answer = send(planner, "rebalance-ask", form={"run": run.pk})
    job = Job.objects.order_by("-pk").first()
    assert job is not None
    assert job.state == "queued"
    assert answer.headers["Location"] == reverse("job-detail", args=[job.pk])


def test_with_nothing_reserved_there_is_nothing_to_balance(house: Store, planner: Client) -> None:
    answer = send(planner, "rebalance-ask")
    assert answer.headers["Location"] == reverse("proposal-list")
    assert not Job.objects.exists()


def test_asking_needs_the_right_and_a_form(db: None, planner: Client, packer: Client) -> None:
    assert send(packer, "rebalance-ask").status_code == 403
    assert planner.get(reverse("rebalance-ask")).status_code == 405


def test_a_proposal_that_is_not_there_is_not_found(db: None, planner: Client) -> None:
    assert planner.get(reverse("proposal-detail", args=[404])).status_code == 404
    for name in DECISIONS:
        assert send(planner, name, 404).status_code == 404
        assert planner.get(reverse(name, args=[404])).status_code == 405
