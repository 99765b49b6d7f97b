"""The pages of the import: send a workbook, follow it, and read what came of it."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.jobs.models import JobState
from boxwort.roles import Right
from boxwort.sheets.opening import MOST_BYTES
from boxwort.web.doors import SignedInRequest, answered, onward, page
from planning.documents.blank_workbook import blank_workbook_xlsx
from planning.jobs import IMPORT_WORKBOOK
from planning.queries.imports import import_row
from planning.services.importing import FORMS
from planning.services.uploads import ask_import, digest_of
from planning.web.purchases import workbook_answer

LIVE = {JobState.QUEUED.value, JobState.RUNNING.value}


class WorkbookForm(forms.Form):
    """The one file that an import takes."""

    workbook = forms.FileField(
        label="Workbook",
        help_text="An Excel workbook (.xlsx) with the sheets described below, or one sheet as CSV.",
        widget=forms.FileInput(attrs={"accept": ".xlsx,.csv"}),
    )


@page(Right.IMPORT_WORKBOOK, methods=("GET", "POST"))
def import_new(request: SignedInRequest) -> HttpResponse:
    """Show what a workbook may hold; take one, and send the page on to its progress."""
    if request.method != "POST":
        return _shown(request, WorkbookForm())
    form = WorkbookForm(request.POST, request.FILES)
    if not form.is_valid():
        return _shown(request, form, status=422)
    sent = form.cleaned_data["workbook"]
    content = sent.read(MOST_BYTES + 1)  # one byte too many is enough to refuse it

    def work() -> dict[str, Any]:
        return {"job": ask_import(by=request.user, name=sent.name, content=content).pk}

    answer = answered(request, {"digest": digest_of(content), "name": sent.name}, work)
    return onward(request, "import-detail", answer["job"])


@page(Right.IMPORT_WORKBOOK)
def import_blank(request: SignedInRequest) -> HttpResponse:
    """Download a workbook that holds every sheet with its titles, to fill in."""
    return workbook_answer(blank_workbook_xlsx(FORMS, made_at=timezone.now()), "to-import.xlsx")


@page(Right.IMPORT_WORKBOOK)
def import_detail(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Show how far an import is, and what came of it."""
    return render(request, "planning/import_detail.html", _import(job_id))


@page(Right.IMPORT_WORKBOOK)
def import_progress(request: SignedInRequest, job_id: int) -> HttpResponse:
    """Show the same as a fragment that asks again until the import has ended."""
    return render(request, "planning/_import.html", _import(job_id))


def _shown(request: SignedInRequest, form: WorkbookForm, status: int = 200) -> HttpResponse:
    context = {"form": form, "sheets": FORMS}
    return render(request, "planning/import_new.html", context, status=status)


def _import(job_id: int) -> dict[str, Any]:
    row = import_row(job_id, name=IMPORT_WORKBOOK.name)
    if row is None:
        raise Http404
    return {"import": row, "job": row.job, "live": row.job.state in LIVE}
