"""What kits cost and earn."""

from __future__ import annotations

from django.http import Http404, HttpResponse
from django.shortcuts import render

from boxwort.accounts.queries import site_settings
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.queries.kit_costs import kit_cost_rows


@page(Right.READ)
def kit_cost_list(request: SignedInRequest) -> HttpResponse:
    """Show every kit with what it would cost now and the spread over its lots."""
    context = {"kits": kit_cost_rows(), "currency": site_settings().currency}
    return render(request, "planning/kit_cost_list.html", context)


@page(Right.READ)
def kit_cost_detail(request: SignedInRequest, code: str) -> HttpResponse:
    """Show what a kit is made up of in money, and what each of its lots cost and earns."""
    rows = kit_cost_rows(kit_code=code)
    if not rows:
        raise Http404
    context = {"kit": rows[0], "currency": site_settings().currency}
    return render(request, "planning/kit_cost_detail.html", context)
