"""Yeast: which lots still serve which runs, until when, and what could stand in for them."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.queries.interchange import interchange_rows
from planning.queries.yeast import Verdict, yeast_rows
from planning.queries.yeast_matches import yeast_matches


@page(Right.READ)
def yeast_list(request: SignedInRequest) -> HttpResponse:
    """Show every yeast lot on hand, today and on the pitch days of the open runs."""
    today = timezone.localdate()
    lots = yeast_rows(today)
    weak = {
        lot.lot_id for lot in lots if any(run.verdict is not Verdict.SERVES for run in lot.runs)
    }
    context = {
        "lots": lots,
        "weak": weak,
        "today": today,
        "matches": yeast_matches(today),
        "others": interchange_rows(today),
    }
    return render(request, "planning/yeast_list.html", context)


@page(Right.READ)
def yeast_lot(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Show how one lot's figures come about, run by run."""
    today = timezone.localdate()
    lot = next(iter(yeast_rows(today, lot_id)), None)
    if lot is None:
        raise Http404
    return render(request, "planning/yeast_lot.html", {"lot": lot, "today": today})
