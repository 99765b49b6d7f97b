"""Purchase orders: the list, one order, and what is done to it on its way to the supplier."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from boxwort.accounts.queries import history_of, site_settings
from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.kept import Words, kept
from boxwort.web.paging import page_of
from boxwort.web.submitting import submitted
from planning.models import OrderState, PurchaseOrder
from planning.queries.purchase_orders import order_detail, order_rows
from planning.services.confirming import Confirmed, confirm_lines
from planning.services.drafting import draft_orders
from planning.services.purchase_orders import (
    cancel_order,
    change_draft,
    end_lines,
    send_order,
)
from planning.web.draft_forms import DraftForm
from planning.web.purchases import ListForm
from planning.web.reasons import ReasonForm, VersionForm, reason_form

OPEN = (OrderState.DRAFT, OrderState.SENT, OrderState.PART_RECEIVED)


class OrderFilter(forms.Form):
    """Which orders a person looks for."""

    state = forms.ChoiceField(
        label="State",
        required=False,
        choices=[("", "Open"), *OrderState.choices, ("all", "All")],
    )


class SendForm(VersionForm):
    """The day an order goes out."""

    on = forms.DateField(label="Sent on", widget=DayInput)


class EndForm(VersionForm):
    """Whether the rest of a line will come."""

    line = forms.IntegerField()
    ended = forms.BooleanField(required=False)


@page(Right.READ)
def order_list(request: SignedInRequest) -> HttpResponse:
    """List purchase orders, what presses first."""
    form = OrderFilter(request.GET)
    asked = form.cleaned_data["state"] if form.is_valid() else ""
    states = {"": OPEN, "all": ()}.get(asked, (asked,))
    shown = page_of(request, order_rows(timezone.localdate(), states=states))
    status = HTTPStatus.OK if form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
    context = {"page": shown, "form": form, "asked": asked, "currency": site_settings().currency}
    return render(request, "planning/order_list.html", context, status=status)


@page(Right.READ)
def order_one(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Show an order with its lines and receipts."""
    detail = order_detail(order_id, timezone.localdate())
    context = {
        "detail": detail,
        "order": detail.order,
        "currency": site_settings().currency,
        "history": history_of(PurchaseOrder._meta.label_lower, order_id),
    }
    return render(request, "planning/order_detail.html", context)


@page(Right.BUY, methods=("POST",))
def order_draft(request: SignedInRequest) -> HttpResponse:
    """Draft what the purchase list proposes, one order for each supplier; or for one of them."""
    today = timezone.localdate()
    chosen = request.POST.get("supplier", "")
    plan = ListForm(request.POST).plan(today)

    def work() -> dict[str, Any]:
        orders = draft_orders(by=request.user, plan=plan, on=today, supplier_code=chosen)
        return {"orders": [order.code for order in orders]}

    asked = {
        "supplier": chosen,
        "suggested": plan.with_suggested,
        "until": str(plan.until),
        "on": today.isoformat(),
    }
    done = answered(request, asked, work)
    messages.success(request, f"Drafted: {', '.join(done['orders'])}. Look each over and send it.")
    return onward(request, f"{reverse('order-list')}?state={OrderState.DRAFT}")


@page(Right.BUY, methods=("GET", "POST"))
def order_change(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Change the lines of a draft."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), pk=order_id)
    form = DraftForm(order, request.POST if request.method == "POST" else None)
    if request.method != "POST":
        return _draft(request, order, form)

    def work() -> dict[str, Any]:
        change_draft(
            by=request.user,
            order=order,
            expected=form.cleaned_data["version"],
            lines=form.asked(),
            note=form.cleaned_data["note"],
        )
        return {"order": order_id}

    done = submitted(request, form, work, payload=form.payload)
    if done.answer is None:
        return _draft(request, order, form, status=done.status)
    messages.success(request, f"Order {order.code} is changed.")
    return onward(request, "order-detail", order_id)


def _draft(
    request: SignedInRequest, order: PurchaseOrder, form: DraftForm, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {"order": order, "form": form, "currency": site_settings().currency}
    return render(request, "planning/order_change.html", context, status=status)


@page(Right.BUY, methods=("GET", "POST"))
def order_send(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Note that an order was sent."""
    order = get_object_or_404(PurchaseOrder, pk=order_id)

    def make(data: Any = None) -> SendForm:
        return SendForm(data, initial={"version": order.version, "on": timezone.localdate()})

    def write(form: SendForm) -> dict[str, Any]:
        asked = form.cleaned_data
        send_order(by=request.user, order=order, expected=asked["version"], on=asked["on"])
        return {"order": order_id}

    words = Words(
        title="Send the order",
        thing=f"Order {order.code}",
        back=reverse("order-detail", args=[order_id]),
        what="Send the supplier the order as a paper or a spreadsheet, then note here that it "
        "went out. From then on it counts as on order, and its lines do not change.",
        button="It was sent",
        said=f"Order {order.code} is sent and counts as on order.",
    )
    return kept(request, make, write, words)


@page(Right.BUY, methods=("GET", "POST"))
def order_cancel(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Give an order up."""
    order = get_object_or_404(PurchaseOrder, pk=order_id)

    def write(form: ReasonForm) -> dict[str, Any]:
        asked = form.cleaned_data
        cancel_order(
            by=request.user, order=order, expected=asked["version"], reason=asked["reason"]
        )
        return {"order": order_id}

    words = Words(
        title="Cancel the order",
        thing=f"Order {order.code}",
        back=reverse("order-detail", args=[order_id]),
        what="Nothing of it is awaited any more. Tell the supplier if it was sent. What it was to "
        "cover stands on the purchase list again.",
        button="Cancel the order",
        said=f"Order {order.code} is cancelled.",
        danger=True,
    )
    return kept(request, reason_form(order.version, "Why it is cancelled"), write, words)


class PromiseForm(VersionForm):
    """The day on which the supplier promises each line."""

    def __init__(self, lines: Any, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for line in lines:
            self.fields[f"due_{line.id}"] = forms.DateField(
                label=line.item_name, widget=DayInput, initial=line.due_on
            )

    def confirmed(self) -> dict[int, Confirmed]:
        """Return the days by line."""
        return {
            int(name.removeprefix("due_")): Confirmed(due_on=day)
            for name, day in self.cleaned_data.items()
            if name.startswith("due_")
        }


@page(Right.BUY, methods=("GET", "POST"))
def order_promise(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Take over the days a supplier promises."""
    order = get_object_or_404(PurchaseOrder, pk=order_id)
    lines = [line for line in order_detail(order_id, timezone.localdate()).lines if line.left]

    def make(data: Any = None) -> PromiseForm:
        return PromiseForm(lines, data, initial={"version": order.version})

    def write(form: PromiseForm) -> dict[str, Any]:
        confirm_lines(
            by=request.user,
            order=order,
            expected=form.cleaned_data["version"],
            lines=form.confirmed(),
        )
        return {"order": order_id}

    words = Words(
        title="Promised dates",
        thing=f"Order {order.code}",
        back=reverse("order-detail", args=[order_id]),
        what="Write the day on which the supplier promises each line; the plan counts on it.",
        button="Take the dates over",
        said=f"The promised dates of order {order.code} are taken over.",
    )
    return kept(request, make, write, words)


@page(Right.BUY, methods=("POST",))
def order_end_line(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Say that the rest of a line will not come, or that it will after all."""
    order = get_object_or_404(PurchaseOrder, pk=order_id)
    form = EndForm(request.POST)
    asked = form.cleaned_data if form.is_valid() else {"version": 0, "line": 0, "ended": True}

    def work() -> dict[str, Any]:
        end_lines(
            by=request.user,
            order=order,
            expected=asked["version"],
            line_ids=[asked["line"]],
            ended=bool(asked["ended"]),
        )
        return {"order": order_id}

    answered(request, asked, work)
    said = (
        "The rest of the line is not awaited." if asked["ended"] else "The line is awaited again."
    )
    messages.success(request, said)
    return onward(request, "order-detail", order_id)
