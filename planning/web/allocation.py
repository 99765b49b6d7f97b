"""The allocation board: which lots go to which runs, searching for better, reserving by it."""

from __future__ import annotations

from functools import partial
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from planning.models import LotPlan, Run, RunState
from planning.queries.allocated_cuts import allocated_cut
from planning.queries.allocations import latest_allocation, search_under_way
from planning.services.allocating import ask_allocation, reserve_as_allocated
from planning.web.run_acts import ActForm


@page(Right.READ)
def allocation_board(request: SignedInRequest) -> HttpResponse:
    """Show the newest allocation, run by run."""
    context = {"allocation": latest_allocation(), "search": search_under_way()}
    return render(request, "planning/allocation_board.html", context)


@page(Right.RUN_JOB, methods=("POST",))
def allocation_search(request: SignedInRequest) -> HttpResponse:
    """Search for a better allocation in the background."""

    def work() -> dict[str, Any]:
        return {"job": ask_allocation(by=request.user).pk}

    job = answered(request, {}, work)["job"]
    messages.success(
        request, "Lots are being chosen for the planned runs. Cancelling keeps the best so far."
    )
    return onward(request, "job-detail", job)


@page(Right.RESERVE_RUN, methods=("POST",))
def allocation_reserve(request: SignedInRequest, plan_id: int, run_id: int) -> HttpResponse:
    """Reserve a run from the lots that an allocation chose for it."""
    plan, run = get_object_or_404(LotPlan, pk=plan_id), get_object_or_404(Run, pk=run_id)
    form = ActForm(request.POST)
    expected = form.cleaned_data["version"] if form.is_valid() else 0
    cut = allocated_cut(plan, run) if run.state == RunState.PLANNED else None
    reserve = partial(reserve_as_allocated, plan=plan, cut=cut)

    def work() -> dict[str, Any]:
        reserve(by=request.user, run=run, expected=expected)
        return {"run": run_id}

    answered(request, {"expected": expected}, work)
    messages.success(request, f"Run {run.code} is reserved by the allocation.")
    return onward(request, "run-detail", run_id)
