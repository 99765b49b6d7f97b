"""The purchase list, to read and to download."""

from __future__ import annotations

from datetime import date
from http import HTTPStatus

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, page
from planning.documents.purchase_list import purchase_list_xlsx
from planning.models import OrderState
from planning.queries.purchase_orders import order_rows
from planning.queries.purchasing import PurchasePlan, purchase_plan

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class ListForm(forms.Form):
    """What the list is for, and how far ahead it looks."""

    runs = forms.ChoiceField(
        label="For runs",
        required=False,
        choices=[("", "All"), ("planned", "Planned only")],
    )
    until = forms.DateField(label="To order by", required=False, widget=DayInput)

    def plan(self, today: date) -> PurchasePlan:
        """Return the list as it is asked for.

        Raises
        ------
        Refusal: ``list-not-understood``; the whole list is never taken for a part of it.
        """
        if not self.is_valid():
            raise Refusal(
                "list-not-understood",
                "What the list is for, or the day to order by, is not understood.",
                "Open the purchase list, choose again and press Show.",
            )
        return purchase_plan(
            today,
            suggested=self.cleaned_data["runs"] != "planned",
            until=self.cleaned_data["until"],
        )


@page(Right.READ)
def purchase_list(request: SignedInRequest) -> HttpResponse:
    """Show what to buy from whom, by when and for which runs."""
    form = ListForm(request.GET)
    if not form.is_valid():
        status = HTTPStatus.UNPROCESSABLE_ENTITY
        return render(request, "planning/purchase_list.html", {"form": form}, status=status)
    plan = form.plan(timezone.localdate())
    late = sum(supplier.past_due for supplier in plan.suppliers)
    context = {
        "plan": plan,
        "form": form,
        "late": late,
        "waiting": [row for row in plan.items if row.late_orders],
        "drafts": order_rows(plan.on, states=[OrderState.DRAFT]),
    }
    return render(request, "planning/purchase_list.html", context)


@page(Right.READ)
def purchase_workbook(request: SignedInRequest) -> HttpResponse:
    """Download the list as a workbook, a sheet for each supplier."""
    today = timezone.localdate()
    plan = ListForm(request.GET).plan(today)
    made = purchase_list_xlsx(plan, made_at=timezone.now(), units=request.user.units)
    return workbook_answer(made, f"purchase-list-{today.isoformat()}.xlsx")


def workbook_answer(content: bytes, name: str) -> HttpResponse:
    """Return a workbook as a download."""
    headers = {"Content-Disposition": f'attachment; filename="{name}"'}
    return HttpResponse(content, content_type=XLSX, headers=headers)
