"""Work on lots: the list, one piece of work whole, choosing a lot to work on, taking work back."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import redirect, render
from django.urls import reverse

from boxwort.accounts.queries import history_of
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.paging import page_of
from boxwort.web.submitting import submitted
from inventory.models import WORKS, Conversion, ConversionKind, ConversionState
from inventory.queries.conversions import WorkRow, work_row, work_rows
from inventory.queries.holdings import fitting_works
from inventory.queries.lots import LotRow, lot_rows
from inventory.services.works import undo_work
from inventory.web.fields import reason_field
from inventory.web.offered import DOORS

WORK = Conversion._meta.label_lower
KINDS = [(kind.value, kind.label) for kind in WORKS]


class WorkFilter(forms.Form):
    """What a person looks for among the work."""

    text = forms.CharField(label="Search", required=False, max_length=80)
    kind = forms.ChoiceField(label="Kind", required=False, choices=[("", "All kinds"), *KINDS])
    state = forms.ChoiceField(
        label="State",
        required=False,
        choices=[
            ("", "Any state"),
            (ConversionState.DONE, "Done"),
            (ConversionState.CANCELLED, "Taken back"),
        ],
    )


class UndoForm(forms.Form):
    """Why work is taken back."""

    reason = reason_field("Why it is taken back")


@page(Right.READ)
def conversion_list(request: SignedInRequest) -> HttpResponse:
    """List the work on lots that fits what is looked for."""
    form = WorkFilter(request.GET)
    usable = form.is_valid()
    rows = work_rows(**form.cleaned_data) if usable else []
    context = {
        "form": form,
        "page": page_of(request, rows),
        "found": len(rows),
        "narrowed": form.has_changed(),
    }
    status = HTTPStatus.OK if usable else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "inventory/conversion_list.html", context, status=status)


@page(Right.WORK_ON_LOT)
def conversion_new(request: SignedInRequest) -> HttpResponse:
    """Choose a kind of work and a lot, then go on to its form."""
    asked = request.GET.get("kind", "")
    if not asked:
        return render(request, "inventory/conversion_new.html", {"kinds": KINDS})
    if asked not in DOORS:
        raise Http404
    kind = ConversionKind(asked)
    lots = [lot for lot in lot_rows(in_stock=True) if _fits(kind, lot)]
    chosen = request.GET.get("lot", "")
    if chosen in {str(lot.id) for lot in lots}:
        return redirect(DOORS[kind], int(chosen))
    context = {"kinds": KINDS, "kind": kind, "lots": lots}
    return render(request, "inventory/conversion_new.html", context)


@page(Right.READ)
def conversion_detail(request: SignedInRequest, work_id: int) -> HttpResponse:
    """Show a piece of work whole: what it took, made and lost, and its history."""
    context = {"work": found_work(work_id), "history": history_of(WORK, work_id)}
    return render(request, "inventory/conversion_detail.html", context)


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def conversion_undo(request: SignedInRequest, work_id: int) -> HttpResponse:
    """Take work back, once that is confirmed with a reason."""
    found = found_work(work_id)
    form = UndoForm(request.POST or None)
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def work() -> dict[str, Any]:
            made = undo_work(
                by=request.user,
                conversion=Conversion.objects.get(pk=work_id),
                key=key_of(request),
                reason=form.cleaned_data["reason"],
            )
            return {"posting": made.pk}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"Work {found.code} is taken back.")
            return onward(request, "conversion-detail", work_id)
        status = done.status
    context = {
        "thing": f"Work {found.code}",
        "back": reverse("conversion-detail", args=[work_id]),
        "title": "Take work back",
        "what": "What it took is stock again, and what it made never was: its lots are rejected. "
        "Both postings stay in the ledger. Work is taken back once, and only while nothing of "
        "its lots is used, reserved or shipped.",
        "form": form,
        "button": "Take it back",
        "danger": True,
    }
    return render(request, "web/act.html", context, status=status)


def found_work(work_id: int) -> WorkRow:
    """Return a piece of work on lots, or answer that there is none."""
    row = work_row(work_id)
    if row is None:
        raise Http404
    return row


def _fits(kind: ConversionKind, lot: LotRow) -> bool:
    usable = lot.status == "released" and not lot.expired and lot.available > 0
    return usable and kind in fitting_works(lot.item_kind, lot.measure, crushed=False)
