"""The purchase list, to read and to download; and demand, which it answers to."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.documents.purchase_list import purchase_list_xlsx
from planning.queries.demand import demand_grid
from planning.queries.purchasing import purchase_plan

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@page(Right.READ)
def purchase_list(request: SignedInRequest) -> HttpResponse:
    """Show what to buy from whom, by when and for which runs."""
    plan = purchase_plan(timezone.localdate())
    late = sum(supplier.past_due for supplier in plan.suppliers)
    context = {
        "plan": plan,
        "late": late,
        "waiting": [row for row in plan.items if row.late_orders],
    }
    return render(request, "planning/purchase_list.html", context)


@page(Right.READ)
def purchase_workbook(request: SignedInRequest) -> HttpResponse:
    """Download the list as a workbook, a sheet for each supplier."""
    today = timezone.localdate()
    made = purchase_list_xlsx(
        purchase_plan(today), made_at=timezone.now(), units=request.user.units
    )
    return workbook_answer(made, f"purchase-list-{today.isoformat()}.xlsx")


@page(Right.READ)
def demand_list(request: SignedInRequest) -> HttpResponse:
    """Show the kits wanted in the coming weeks."""
    return render(request, "planning/demand_list.html", {"grid": demand_grid(timezone.localdate())})


def workbook_answer(content: bytes, name: str) -> HttpResponse:
    """Return a workbook as a download."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=XLSX, headers=headers)
