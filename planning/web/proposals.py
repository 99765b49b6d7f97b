"""Proposals: new weights to accept or refuse, and asking for them."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.paging import page_of
from planning.models import Proposal, ProposalState, Run
from planning.queries.proposals import proposal_row, proposal_rows
from planning.queries.rebalancing import kits_of_run, kits_with_batches
from planning.services.proposing import accept_proposal, ask_rebalance, refuse_proposal

MOST = 1000


class DecisionForm(forms.Form):
    """A word on the decision."""

    note = forms.CharField(max_length=200, required=False)


class AskForm(forms.Form):
    """What to balance again: one run's batches, or all that are reserved."""

    run = forms.ModelChoiceField(Run.objects.all(), required=False)


@page(Right.READ)
def proposal_list(request: SignedInRequest) -> HttpResponse:
    """List the proposals to decide, or all of them."""
    everything = request.GET.get("show") == "all"
    shown = page_of(request, proposal_rows(only_open=not everything, most=MOST))
    context = {"page": shown, "everything": everything}
    return render(request, "planning/proposal_list.html", context)


@page(Right.READ)
def proposal_detail(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    """Show what a proposal would change in its batch."""
    row = proposal_row(proposal_id)
    context = {"proposal": row, "open": row.state == ProposalState.OPEN}
    return render(request, "planning/proposal_detail.html", context)


@page(Right.DECIDE_PROPOSAL, methods=("POST",))
def proposal_accept(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    """Accept new weights: the old sheet is void and a new one is issued."""
    said = "The new weights are accepted and a new sheet is issued. Print it again."
    return _decided(request, proposal_id, accept_proposal, said)


@page(Right.DECIDE_PROPOSAL, methods=("POST",))
def proposal_refuse(request: SignedInRequest, proposal_id: int) -> HttpResponse:
    """Refuse new weights: the batch keeps its sheet."""
    said = "The proposal is refused; the batch keeps its sheet."
    return _decided(request, proposal_id, refuse_proposal, said)


@page(Right.RUN_JOB, methods=("POST",))
def rebalance_ask(request: SignedInRequest) -> HttpResponse:
    """Ask for the reserved batches of a run, or of all runs, to be balanced again."""
    form = AskForm(request.POST)
    run = form.cleaned_data["run"] if form.is_valid() else None
    cause = f"asked for run {run.code}" if run else "asked for all reserved batches"

    def work() -> dict[str, Any]:
        kit_ids = kits_of_run(run.pk) if run else kits_with_batches()
        jobs = ask_rebalance(by=request.user, kit_ids=kit_ids, cause=cause)
        return {"jobs": [job.pk for job in jobs]}

    jobs = answered(request, {"run": run.pk if run else None}, work)["jobs"]
    if not jobs:
        messages.info(request, "No batch is reserved, so there is nothing to balance.")
        return onward(request, "proposal-list")
    messages.success(request, "The hop weights are being balanced again; changes will be proposed.")
    return onward(request, "job-detail", jobs[0]) if len(jobs) == 1 else onward(request, "job-list")


def _decided(
    request: SignedInRequest, proposal_id: int, decide: Callable[..., Any], said: str
) -> HttpResponse:
    proposal = get_object_or_404(Proposal.objects.select_related("batch__run_line"), pk=proposal_id)
    form = DecisionForm(request.POST)
    note = form.cleaned_data["note"] if form.is_valid() else request.POST.get("note", "")[:200]

    def work() -> dict[str, Any]:
        decide(by=request.user, proposal=proposal, note=note)
        return {"proposal": proposal_id}

    answered(request, {"note": note}, work)
    messages.success(request, said)
    return onward(request, "run-detail", proposal.batch.run_line.run_id)
