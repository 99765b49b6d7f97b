"""The pages that show runs: the list, one run, and how a planned run would be cut."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from planning.models import BatchState, Run, RunState
from planning.queries.previews import run_preview
from planning.queries.runs import run_detail as run_in_detail
from planning.queries.runs import run_rows
from planning.queries.stuck import stuck_batches


@page(Right.READ)
def run_list(request: SignedInRequest) -> HttpResponse:
    """List the open runs by pack date, or all of them."""
    everything = request.GET.get("show") == "all"
    shown = page_of(request, run_rows(only_open=not everything))
    context = {"page": shown, "everything": everything, "today": timezone.localdate()}
    return render(request, "planning/run_list.html", context)


@page(Right.READ)
def run_detail(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Show a run with its batches, or with its plan while nothing is reserved."""
    run = run_in_detail(run_id)
    states = {batch.state for batch in run.batches}
    waiting = [batch.code for batch in run.batches if batch.state == BatchState.RESERVED]
    context = {
        "run": run,
        "standing": [batch for batch in run.batches if batch.state != BatchState.CANCELLED],
        "past": [batch for batch in run.batches if batch.state == BatchState.CANCELLED],
        "stuck": list(stuck_batches(waiting).values()),
        "planned": run.state == RunState.PLANNED,
        "holds_stock": run.state in (RunState.RESERVED, RunState.PACKING),
        "is_over": run.state in (RunState.CLOSED, RunState.CANCELLED),
        "packed_some": BatchState.PACKED in states,
    }
    return render(request, "planning/run_detail.html", context)


@page(Right.READ)
def run_cut(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Show how a planned run would be cut today: a fragment, or a page of its own."""
    run = get_object_or_404(Run, pk=run_id)
    preview = run_preview(run) if run.state == RunState.PLANNED else None
    template = "planning/_cut.html" if request.htmx else "planning/run_cut.html"
    return render(request, template, {"run": run, "preview": preview})


@page(Right.READ)
def run_named(request: SignedInRequest, code: str) -> HttpResponse:
    """Go to the run of a code, for pages that know a run by its code alone."""
    return redirect("run-detail", get_object_or_404(Run, code=code).pk)
