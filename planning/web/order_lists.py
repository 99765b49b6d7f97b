"""The list of orders as a workbook: sent out, changed by hand, and taken back with what differs."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.accounts.queries import site_settings
from boxwort.roles import Right
from boxwort.sheets.opening import MOST_BYTES
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.submitting import submitted
from planning.documents.order_list import order_list_xlsx
from planning.queries.buying_lists import order_list
from planning.queries.list_differences import list_difference
from planning.services.order_lists import take_list_over
from planning.services.uploads import digest_of, keep_upload, upload
from planning.web.purchases import workbook_answer


class ListForm(forms.Form):
    """The one file that is taken back."""

    workbook = forms.FileField(
        label="Workbook",
        help_text="A purchase list or a list of orders that was downloaded here.",
        widget=forms.FileInput(attrs={"accept": ".xlsx"}),
    )


class TakeOverForm(forms.Form):
    """What a person saw and confirms."""

    fingerprint = forms.CharField(widget=forms.HiddenInput, max_length=64)
    with_prices = forms.BooleanField(
        label="Take the prices over into the offers as well", required=False
    )


@page(Right.READ)
def order_workbook(request: SignedInRequest) -> HttpResponse:
    """Download the open orders as a workbook, a sheet for each supplier."""
    today = timezone.localdate()
    made = order_list_xlsx(order_list(today), made_at=timezone.now(), units=request.user.units)
    return workbook_answer(made, f"orders-{today.isoformat()}.xlsx")


@page(Right.BUY, methods=("GET", "POST"))
def order_list_new(request: SignedInRequest) -> HttpResponse:
    """Take a list back, and send the page on to what it would change."""
    if request.method != "POST":
        return render(request, "planning/order_list_new.html", {"form": ListForm()})
    form = ListForm(request.POST, request.FILES)
    if not form.is_valid():
        status = HTTPStatus.UNPROCESSABLE_ENTITY
        return render(request, "planning/order_list_new.html", {"form": form}, status=status)
    content = form.cleaned_data["workbook"].read(MOST_BYTES + 1)  # one too many is enough

    def work() -> dict[str, Any]:
        return {"digest": keep_upload(by=request.user, content=content)}

    answer = answered(request, {"digest": digest_of(content)}, work)
    return onward(request, "order-list-changes", answer["digest"])


@page(Right.BUY, methods=("GET", "POST"))
def order_list_changes(request: SignedInRequest, digest: str) -> HttpResponse:
    """Show what a list would change; once that is confirmed, change it."""
    today = timezone.localdate()
    if request.method != "POST":
        return _shown(request, digest)
    form = TakeOverForm(request.POST)

    def work() -> dict[str, Any]:
        codes = take_list_over(
            by=request.user,
            digest=digest,
            fingerprint=form.cleaned_data["fingerprint"],
            on=today,
            with_prices=form.cleaned_data["with_prices"],
        )
        return {"orders": codes}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, digest, form, status=done.status)
    changed = ", ".join(done.answer["orders"])
    messages.success(
        request, f"Taken over: {changed}." if changed else "The prices are taken over."
    )
    return onward(request, "order-list")


def _shown(
    request: SignedInRequest,
    digest: str,
    form: TakeOverForm | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    found = list_difference(upload(digest), timezone.localdate())
    refused = form.non_field_errors() if form else ()
    context = {
        "found": found,
        "refused": refused,
        "form": TakeOverForm(initial={"fingerprint": found.fingerprint}),
        "currency": site_settings().currency,
    }
    return render(request, "planning/order_list_changes.html", context, status=status)
