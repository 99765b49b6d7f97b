"""The pages that show items: the list, and all that is known of one."""

from __future__ import annotations

from http import HTTPStatus

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render

from boxwort.accounts.queries import history_of
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from inventory.models import Item, ItemKind
from inventory.models.items import FERMENTABLE_KINDS, MaltFamily
from inventory.queries.crops import crops_of
from inventory.queries.items import item_row, item_rows
from inventory.queries.lots import lot_rows
from inventory.queries.offers import offers_for


class ItemFilter(forms.Form):
    """What a person looks for among the items."""

    text = forms.CharField(label="Search", required=False, max_length=80)
    kind = forms.ChoiceField(
        label="Kind", required=False, choices=[("", "All kinds"), *ItemKind.choices]
    )
    show = forms.ChoiceField(
        label="Show", required=False, choices=[("", "In use"), ("all", "Retired too")]
    )


@page(Right.READ)
def item_list(request: SignedInRequest) -> HttpResponse:
    """List the items that fit what is looked for."""
    form = ItemFilter(request.GET)
    usable = form.is_valid()
    asked = form.cleaned_data
    rows = (
        item_rows(text=asked["text"], kind=asked["kind"], active_only=asked["show"] != "all")
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
    return render(request, "inventory/item_list.html", context, status=status)


@page(Right.READ)
def item_detail(request: SignedInRequest, item_id: int) -> HttpResponse:
    """Show an item: its specification, lots, offers, allergens and history."""
    item = item_row(item_id)
    if item is None:
        raise Http404
    lots = lot_rows(item_id=item_id)
    context = {
        "item": item,
        "is_fermentable": item.kind in FERMENTABLE_KINDS,
        "family": dict(MaltFamily.choices).get(item.specification.get("family", "")),
        "lots": sorted(lots, key=lambda lot: lot.on_hand == 0),
        "offers": offers_for([item_id]).get(item_id, []),
        "crops": crops_of(item_id),
        "history": history_of(Item._meta.label_lower, item_id),
    }
    return render(request, "inventory/item_detail.html", context)
