"""The figures of a batch: the beer from its lots against the design, and every working."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.papers import pdf_answer, reader_of
from planning.documents.working_sheet import batch_workings_pdf
from planning.models import Batch
from planning.queries.batch_figures import batch_figures as figures_of
from planning.queries.batch_workings import BatchWorkings
from planning.queries.batch_workings import batch_workings as workings_of


@page(Right.READ)
def batch_beer(request: SignedInRequest, batch_id: int) -> HttpResponse:
    """Show the beer from a batch's lots beside the design, for the page of its run."""
    batch = get_object_or_404(Batch, pk=batch_id)
    beer = figures_of([batch.pk])[batch.pk]
    return render(request, "planning/_batch_beer.html", {"batch": batch, "beer": beer})


@page(Right.READ)
def batch_figures(request: SignedInRequest, batch_id: int) -> HttpResponse:
    """Show every figure of a batch with its working."""
    batch = get_object_or_404(Batch.objects.select_related("run_line__run"), pk=batch_id)
    context = {"batch": batch, "run": batch.run_line.run, "found": _workings(batch_id)}
    return render(request, "planning/batch_figures.html", context)


@page(Right.READ)
def batch_figures_paper(request: SignedInRequest, batch_id: int) -> HttpResponse:
    """Print every figure of a batch with its working."""
    found = _workings(batch_id)
    drawn = batch_workings_pdf(found, reader=reader_of(request.user))
    return pdf_answer(drawn, f"figures-{found.code}")


def _workings(batch_id: int) -> BatchWorkings:
    try:
        return workings_of(batch_id)
    except Batch.DoesNotExist as missing:
        raise Http404 from missing
