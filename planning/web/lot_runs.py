"""Which runs hold a lot, for the lot's own page, which knows nothing of runs."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from inventory.models import Lot
from planning.queries.lot_runs import lot_run_rows


@page(Right.READ)
def lot_runs(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Show the batches that take of a lot: a fragment, or a page of its own."""
    lot = get_object_or_404(Lot.objects.select_related("item"), pk=lot_id)
    template = "planning/_lot_runs.html" if request.htmx else "planning/lot_runs.html"
    return render(request, template, {"lot": lot, "rows": lot_run_rows(lot_id)})
