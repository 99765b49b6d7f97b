"""The pages that show lots: the list, and all that is known of one."""

from __future__ import annotations

from http import HTTPStatus

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.utils import timezone

from boxwort.accounts.queries import history_of
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from inventory.models import ItemKind, Lot, LotStatus, YeastForm
from inventory.queries.conversions import works_on
from inventory.queries.holdings import origin_of
from inventory.queries.items import ItemRow, item_row
from inventory.queries.lots import LotRow, lot_row, lot_rows
from inventory.queries.moves import (
    analyses_of,
    inherited_analyses_of,
    moves_of,
    reservations_of,
)
from inventory.queries.outlooks import outlook_of
from inventory.services.analyses import MEASURED_ON
from inventory.web.offered import works_offered

LOT = Lot._meta.label_lower
MEASURED_KINDS = {kind for kinds in MEASURED_ON.values() for kind in kinds}


class LotFilter(forms.Form):
    """What a person looks for among the lots."""

    text = forms.CharField(label="Search", required=False, max_length=80)
    kind = forms.ChoiceField(
        label="Kind", required=False, choices=[("", "All kinds"), *ItemKind.choices]
    )
    status = forms.ChoiceField(
        label="Status", required=False, choices=[("", "Any status"), *LotStatus.choices]
    )
    stock = forms.ChoiceField(
        label="Stock", required=False, choices=[("", "On hand"), ("all", "Used up too")]
    )


@page(Right.READ)
def lot_list(request: SignedInRequest) -> HttpResponse:
    """List the lots that fit what is looked for."""
    form = LotFilter(request.GET)
    usable = form.is_valid()
    asked = form.cleaned_data
    rows = (
        lot_rows(
            text=asked["text"],
            kind=asked["kind"],
            status=asked["status"],
            in_stock=asked["stock"] != "all",
        )
        if usable
        else []
    )
    context = {
        "form": form,
        "page": page_of(request, rows),
        "found": len(rows),
        "narrowed": form.has_changed(),
    }
    status = HTTPStatus.OK if usable else HTTPStatus.UNPROCESSABLE_ENTITY
    return render(request, "inventory/lot_list.html", context, status=status)


@page(Right.READ)
def lot_detail(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Show a lot whole: stock, work that holds it, analyses, moves and history."""
    lot = found_lot(lot_id)
    item = item_row(lot.item_id)
    kept = reservations_of(lot.id)
    origin = origin_of(lot.id)
    context = {
        "lot": lot,
        "item": item,
        "outlook": outlook_of(lot, timezone.localdate()),
        "is_liquid_yeast": is_liquid_yeast(item),
        "open": [row for row in kept if row.ended_at is None],
        "ended": [row for row in kept if row.ended_at is not None],
        "analyses": analyses_of(lot.id),
        "inherited": inherited_analyses_of(lot.id),
        "origin": origin,
        "works": works_on(lot.id),
        "works_offered": works_offered(lot, crushed=origin.crushed_on is not None),
        "moves": moves_of(lot.id),
        "history": history_of(LOT, lot.id),
        "measurable": lot.item_kind in MEASURED_KINDS,
    }
    return render(request, "inventory/lot_detail.html", context)


@page(Right.READ)
def lot_named(request: SignedInRequest, code: str) -> HttpResponse:
    """Go to the lot of a code, for pages and papers that know a lot by its code alone."""
    return redirect("lot-detail", get_object_or_404(Lot, code=code).pk)


def found_lot(lot_id: int) -> LotRow:
    """Return a lot, or answer that there is none."""
    lot = lot_row(lot_id)
    if lot is None:
        raise Http404
    return lot


def is_liquid_yeast(item: ItemRow | None) -> bool:
    """Return whether warm days harm an item within a week."""
    return item is not None and item.specification.get("form") == YeastForm.LIQUID
