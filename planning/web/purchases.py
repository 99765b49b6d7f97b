"""The purchase list, to read and to download."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.documents.purchase_list import purchase_list_xlsx
from planning.models import OrderState
from planning.queries.purchase_orders import order_rows
from planning.queries.purchasing import purchase_plan

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


@page(Right.READ)
def purchase_list(request: SignedInRequest) -> HttpResponse:
    """Show what to buy from whom, by when and for which runs."""
    plan = purchase_plan(timezone.localdate(), suggested=_suggested(request))
    late = sum(supplier.past_due for supplier in plan.suppliers)
    context = {
        "plan": plan,
        "late": late,
        "waiting": [row for row in plan.items if row.late_orders],
        "drafts": order_rows(plan.on, states=[OrderState.DRAFT]),
    }
    return render(request, "planning/purchase_list.html", context)


@page(Right.READ)
def purchase_workbook(request: SignedInRequest) -> HttpResponse:
    """Download the list as a workbook, a sheet for each supplier."""
    today = timezone.localdate()
    plan = purchase_plan(today, suggested=_suggested(request))
    made = purchase_list_xlsx(plan, made_at=timezone.now(), units=request.user.units)
    return workbook_answer(made, f"purchase-list-{today.isoformat()}.xlsx")


def _suggested(request: SignedInRequest) -> bool:
    """Return whether the list is for the runs that the plan suggests too."""
    return request.GET.get("runs") != "planned"


def workbook_answer(content: bytes, name: str) -> HttpResponse:
    """Return a workbook as a download."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=XLSX, headers=headers)
