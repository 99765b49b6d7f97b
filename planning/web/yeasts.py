"""Yeast freshness: which lots still serve which runs, and until when."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.queries.yeast import Verdict, yeast_rows


@page(Right.READ)
def yeast_list(request: SignedInRequest) -> HttpResponse:
    """Show every yeast lot on hand, today and on the pitch days of the open runs."""
    today = timezone.localdate()
    lots = yeast_rows(today)
    weak = {
        lot.lot_id for lot in lots if any(run.verdict is not Verdict.SERVES for run in lot.runs)
    }
    context = {"lots": lots, "weak": weak, "today": today}
    return render(request, "planning/yeast_list.html", context)
