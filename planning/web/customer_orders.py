"""Customer orders: the list, one order, taking and changing one, and cancelling."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from boxwort.accounts.queries import history_of, site_settings
from boxwort.accounts.services import plain
from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.kept import Words, kept
from boxwort.web.paging import page_of
from boxwort.web.refusals import status_of
from planning.models import CustomerOrder, CustomerOrderState
from planning.queries.customer_orders import (
    ALL,
    CustomerOrderRow,
    customer_order,
    customer_order_rows,
)
from planning.queries.dispatches import dispatch_rows
from planning.services.customer_orders import (
    cancel_customer_order,
    change_customer_order,
    take_customer_order,
)
from planning.web.customer_order_forms import CustomerOrderForm
from planning.web.reasons import ReasonForm, reason_form

_BESIDE = {
    "customer-missing": "customer",
    "order-too-far-off": "promised_on",
    "zone-does-not-ship": "promised_on",
    "zone-not-in-use": "zone",
    "code-not-valid": "code",
    "order-code-taken": "code",
}
"""The box that a refusal is shown beside."""


class OrderFilter(forms.Form):
    """Which orders a person looks for."""

    state = forms.ChoiceField(
        label="State",
        required=False,
        choices=[("", "Open"), *CustomerOrderState.choices[1:], (ALL, "All")],
    )
    search = forms.CharField(label="Search", max_length=80, required=False)


@page(Right.READ)
def customer_order_list(request: SignedInRequest) -> HttpResponse:
    """List customer orders, the open ones first by promised day."""
    form = OrderFilter(request.GET)
    valid = form.is_valid()
    state = (form.cleaned_data.get("state") if valid else "") or CustomerOrderState.OPEN
    search = form.cleaned_data.get("search", "") if valid else ""
    rows = customer_order_rows(timezone.localdate(), state=state, search=search)
    context = {
        "page": page_of(request, rows),
        "form": form,
        "searched": bool(search),
        "state": state,
        "currency": site_settings().currency,
    }
    status = HTTPStatus.OK if valid else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "planning/customer_order_list.html", context, status=status)


@page(Right.READ)
def customer_order_detail(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Show what is promised to a customer, and how far it is; it prints as it stands."""
    context = {
        "order": _order(order_id),
        "dispatches": dispatch_rows(order_id=order_id),
        "currency": site_settings().currency,
        "history": history_of(CustomerOrder._meta.label_lower, order_id),
    }
    return render(request, "planning/customer_order_detail.html", context)


@page(Right.TAKE_ORDER, methods=("GET", "POST"))
def customer_order_new(request: SignedInRequest) -> HttpResponse:
    """Take an order."""

    def work(form: CustomerOrderForm) -> CustomerOrder:
        return take_customer_order(by=request.user, **form.facts())

    return _written(request, None, work, said="is taken")


@page(Right.TAKE_ORDER, methods=("GET", "POST"))
def customer_order_change(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Write an order anew while nothing of it has left."""
    row = _order(order_id)

    def work(form: CustomerOrderForm) -> CustomerOrder:
        order = CustomerOrder.objects.select_related("zone").get(pk=order_id)
        expected = form.cleaned_data["version"] or 0
        change_customer_order(by=request.user, order=order, expected=expected, **form.facts())
        return order

    return _written(request, row, work, said="is changed")


@page(Right.TAKE_ORDER, methods=("GET", "POST"))
def customer_order_cancel(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Cancel what has not left of an order."""
    order = get_object_or_404(CustomerOrder, pk=order_id)

    def write(form: ReasonForm) -> dict[str, Any]:
        asked = form.cleaned_data
        cancel_customer_order(
            by=request.user, order=order, expected=asked["version"], reason=asked["reason"]
        )
        return {"order": order_id}

    words = Words(
        title="Cancel the order",
        thing=f"Order {order.code}",
        back=reverse("customer-order-detail", args=[order_id]),
        what="What has not left of it will not leave, and is wanted no more.",
        button="Cancel the order",
        said=f"Order {order.code} is cancelled.",
        danger=True,
    )
    return kept(request, reason_form(order.version, "Why it is cancelled"), write, words)


def _order(order_id: int) -> CustomerOrderRow:
    try:
        return customer_order(order_id, timezone.localdate())
    except CustomerOrder.DoesNotExist:
        raise Http404 from None


def _written(
    request: SignedInRequest,
    row: CustomerOrderRow | None,
    work: Callable[[CustomerOrderForm], CustomerOrder],
    *,
    said: str,
) -> HttpResponse:
    """Do what the form asks and go to the order; a refusal is shown beside what was typed."""
    sent = request.POST if request.method == "POST" else None
    form = CustomerOrderForm(row, request.user.units, sent)
    if sent is None:
        return _shown(request, row, form)
    sound = form.is_valid()
    if "more" in sent:
        return _shown(request, row, form)
    if not sound:
        return _shown(request, row, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        done = answered(request, plain(form.payload()), lambda: {"order": work(form).pk})
    except Refusal as refusal:
        _blame(form, refusal)
        return _shown(request, row, form, status=status_of(refusal))
    order = CustomerOrder.objects.get(pk=done["order"])
    messages.success(request, f"Order {order.code} {said}.")
    return onward(request, "customer-order-detail", order.pk)


def _blame(form: CustomerOrderForm, refusal: Refusal) -> None:
    words = f"{refusal.what} {refusal.remedy}"
    line = (refusal.details or {}).get("line")
    if line:
        form.blame(line, words)
        form.add_error(None, "Nothing is kept yet: see the line below.")
        return
    beside = _BESIDE.get(refusal.code, "")
    form.add_error(beside if beside in form.fields else None, words)


def _shown(
    request: SignedInRequest,
    row: CustomerOrderRow | None,
    form: CustomerOrderForm,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {"order": row, "form": form, "currency": site_settings().currency}
    return render(request, "planning/customer_order_form.html", context, status=status)
