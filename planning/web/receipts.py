"""Taking a delivery in against its order, and taking a receipt back."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.kept import Words, kept
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from planning.models import PurchaseOrder, Receipt
from planning.queries.purchase_orders import OrderDetail, order_detail
from planning.services.receipts import receive_order, undo_receipt
from planning.web.reasons import ReasonForm, reason_form
from planning.web.receive_forms import ReceiveForm


@page(Right.RECEIVE_LOT, methods=("GET", "POST"))
def order_receive(request: SignedInRequest, order_id: int) -> HttpResponse:
    """Take a delivery in."""
    detail = order_detail(order_id, timezone.localdate())
    form = ReceiveForm(detail, request.user, request.POST if request.method == "POST" else None)
    if request.method != "POST":
        return _shown(request, detail, form)

    def work() -> dict[str, Any]:
        asked = form.cleaned_data
        receipt = receive_order(
            by=request.user,
            order=PurchaseOrder.objects.get(pk=order_id),
            expected=asked["version"],
            received_on=asked["received_on"],
            arrived=form.arrived(),
            freight=asked["freight"] or 0,
            delivery_note=asked["delivery_note"],
            key=key_of(request),
        )
        return {"receipt": receipt.code}

    done = submitted(request, form, work, payload=form.payload)
    if done.answer is None:
        return _shown(request, detail, form, status=done.status)
    messages.success(
        request,
        f"Receipt {done.answer['receipt']} is taken in. Its lots wait in quarantine: record their "
        "certificates and release them.",
    )
    return onward(request, "order-detail", order_id)


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def receipt_undo(request: SignedInRequest, receipt_id: int) -> HttpResponse:
    """Take a receipt back."""
    receipt = get_object_or_404(Receipt.objects.select_related("order"), pk=receipt_id)

    def write(form: ReasonForm) -> dict[str, Any]:
        undo_receipt(
            by=request.user,
            receipt=receipt,
            expected=form.cleaned_data["version"],
            reason=form.cleaned_data["reason"],
            key=key_of(request),
        )
        return {"receipt": receipt_id}

    words = Words(
        title="Undo the receipt",
        thing=f"Receipt {receipt.code} of order {receipt.order.code}",
        back=reverse("order-detail", args=[receipt.order_id]),
        what="All its lots are taken out of stock, as if they had never come, and the order awaits "
        "them again. That is refused once something of them was used, reserved or moved.",
        button="Undo the receipt",
        said=f"Receipt {receipt.code} is undone.",
        danger=True,
    )
    return kept(request, reason_form(receipt.version, "Why it is undone"), write, words)


def _shown(
    request: SignedInRequest, detail: OrderDetail, form: ReceiveForm, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {
        "form": form,
        "detail": detail,
        "order": detail.order,
        "currency": site_settings().currency,
    }
    return render(request, "planning/order_receive.html", context, status=status)
