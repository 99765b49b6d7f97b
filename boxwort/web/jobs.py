"""The pages of background work: what waits, how far it is, and how it ended."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.jobs.models import Job, JobState
from boxwort.jobs.queries import job_row, job_rows
from boxwort.jobs.services import cancel_job, retry_job
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.paging import page_of

MOST = 1000
LIVE = {JobState.QUEUED.value, JobState.RUNNING.value}


@page(Right.READ)
def job_list(request: SignedInRequest) -> HttpResponse:
    """List the newest jobs; a table with live ones in it refreshes itself."""
    shown = page_of(request, job_rows(MOST))
    context = {"page": shown, "live": any(row.state in LIVE for row in shown)}
    template = "web/_job_rows.html" if request.htmx else "web/job_list.html"
    return render(request, template, context)


@page(Right.READ)
def job_detail(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Show one job."""
    return render(request, "web/job_detail.html", _job(job_id))


@page(Right.READ)
def job_progress(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Show how far a job is: a fragment that asks again until the job has ended."""
    return render(request, "web/_job.html", _job(job_id))


@page(Right.RUN_JOB, methods=("POST",))
def job_cancel(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Cancel a job that waits or runs."""
    return _acted(request, job_id, cancel_job, "The job is told to stop.")


@page(Right.RUN_JOB, methods=("POST",))
def job_retry(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Put a failed or cancelled job back in the queue."""
    return _acted(request, job_id, retry_job, "The job is in the queue again.")


def _job(job_id: int) -> dict[str, Any]:
    row = job_row(job_id)
    if row is None:
        raise Http404
    return {"job": row, "live": row.state in LIVE}


def _acted(
    request: SignedInRequest, job_id: int, act: Callable[..., None], said: str
) -> HttpResponse:
    job = get_object_or_404(Job, pk=job_id)

    def work() -> dict[str, Any]:
        act(by=request.user, job=job)
        return {"job": job_id}

    answered(request, {}, work)
    messages.success(request, said)
    return onward(request, "job-detail", job_id)
