"""The dispatch board, and the page on which an order is picked and sent on its way."""

from __future__ import annotations

from datetime import date
from http import HTTPStatus

from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.keys import key_of
from boxwort.web.refusals import status_of
from planning.models import CustomerOrder, CustomerOrderState, Dispatch
from planning.queries.dispatch_board import dispatch_board as board_days
from planning.queries.dispatch_choices import dispatch_choice
from planning.queries.dispatch_offers import OrderChoice
from planning.queries.dispatches import dispatch_rows
from planning.services.dispatching import dispatch_order
from planning.web.dispatch_forms import DayForm, PickForm, payload

_LATELY = 10


@page(Right.READ)
def dispatch_board(request: SignedInRequest) -> HttpResponse:
    """Show the orders to leave, by the day they can, and what left lately."""
    today = timezone.localdate()
    context = {
        "days": board_days(today),
        "today": today,
        "lately": dispatch_rows(most=_LATELY),
    }
    return render(request, "planning/dispatch_board.html", context)


@page(Right.DISPATCH, methods=("GET", "POST"))
def order_dispatch(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Pick an order and write down that it left."""
    order = get_object_or_404(CustomerOrder, pk=order_id)
    if request.method != "POST":
        if order.state != CustomerOrderState.OPEN:
            raise Refusal(
                "order-not-open",
                f"Order {order.code} is {order.get_state_display().lower()}.",
                "Only what is open can be dispatched.",
            )
        days = DayForm(request.GET) if "on" in request.GET else DayForm()
        on = days.cleaned_data["on"] if days.is_valid() else timezone.localdate()
        choice = _choice(order_id, on)
        return _shown(request, choice, PickForm(choice, request.user.units), days=days)
    asked = DayForm({"on": request.POST.get("shipped_on", "")})
    on = asked.cleaned_data["on"] if asked.is_valid() else timezone.localdate()
    choice = _choice(order_id, on)
    form = PickForm(choice, request.user.units, request.POST)
    if not form.is_valid():
        return _shown(request, choice, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        done = _sent(request, order, form)
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return _shown(request, choice, form, status=status_of(refusal))
    dispatch = Dispatch.objects.get(pk=done)
    messages.success(request, f"Dispatch {dispatch.code} of order {order.code} is written down.")
    return onward(request, "dispatch-detail", dispatch.pk)


def _sent(request: SignedInRequest, order: CustomerOrder, form: PickForm) -> int:
    picks, shipped_on = form.picks(), form.cleaned_data["shipped_on"]
    version = form.cleaned_data["version"]

    def work() -> dict[str, int]:
        made = dispatch_order(
            by=request.user,
            order=order,
            expected=version,
            shipped_on=shipped_on,
            picks=picks,
            key=key_of(request),
        )
        return {"dispatch": made.pk}

    return int(answered(request, payload(request.POST), work)["dispatch"])


def _choice(order_id: int, on: date) -> OrderChoice:
    try:
        return dispatch_choice(order_id, on)
    except CustomerOrder.DoesNotExist:
        raise Http404 from None


def _shown(
    request: SignedInRequest,
    choice: OrderChoice,
    form: PickForm,
    *,
    days: DayForm | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    shown = days if days is not None and days.is_bound and not days.is_valid() else None
    context = {
        "choice": choice,
        "order": choice.order,
        "form": form,
        "days": shown or DayForm(initial={"on": choice.way.shipped_on}),
        "today": timezone.localdate(),
    }
    return render(request, "planning/order_dispatch.html", context, status=status)
