"""The page on which a delivery becomes a lot."""

from __future__ import annotations

from decimal import Decimal
from http import HTTPStatus
from itertools import groupby
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.quantities import MG_PER_KG, Measure, natural_unit
from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import HopForm, Item, ItemKind, LotStatus, Packing, Supplier
from inventory.models.codes import CODE_LENGTH
from inventory.queries.items import ItemRow, item_row, item_rows
from inventory.queries.lot_codes import free_lot_code
from inventory.queries.offers import OfferRow, offers_for
from inventory.services.lots import receive_lot
from inventory.web.fields import PastDayField, StoreField, add_amount
from inventory.web.lots import is_liquid_yeast

#: In grams or ounces; everything else that is weighed comes in kilograms or pounds.
LIGHT_KINDS = (ItemKind.HOP, ItemKind.YEAST, ItemKind.MINERAL, ItemKind.FINING)
_TEN_THOUSANDTHS = 10_000


class LotForm(forms.Form):
    """A delivery of one item."""

    def __init__(
        self, item: ItemRow, offers: list[OfferRow], person: User, *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        today = timezone.localdate()
        self.fields["code"] = forms.CharField(
            label="Lot code",
            max_length=CODE_LENGTH,
            initial=free_lot_code(item.code, today),
            help_text="For good, and on every label: A-Z, 0-9 and hyphen.",
        )
        add_amount(self, "quantity", "Amount", item.measure, _unit(item, person))
        self.fields["place"] = StoreField(person, label="Where it lies", empty_label=None)
        self.fields["received_on"] = PastDayField(label="Received on", initial=today)
        self.fields["supplier"] = forms.ModelChoiceField(
            Supplier.objects.filter(active=True),
            label="Supplier",
            required=False,
            initial=offers[0].supplier_id if offers else None,
        )
        self.fields["supplier_lot"] = forms.CharField(
            label="Supplier's lot", max_length=40, required=False
        )
        self.fields["packaged_on"] = PastDayField(
            label="Packaged on", required=False, help_text=_packaged_help(item)
        )
        self.fields["best_before_on"] = forms.DateField(
            label="Best before", required=False, widget=DayInput, help_text=_shelf_help(item)
        )
        if item.kind == ItemKind.HOP:
            self.fields["packing"] = forms.ChoiceField(
                label="Packing",
                choices=Packing.choices,
                initial=item.specification.get("packing"),
                help_text="It sets how fast the alpha acid falls.",
            )
            self.fields["form"] = forms.ChoiceField(
                label="Form",
                choices=[("", f"As usual: {_usual_form(item)}"), *HopForm.choices],
                required=False,
            )
        self.fields["cost"] = forms.DecimalField(
            label=f"Cost of the whole delivery, in {site_settings().currency}",
            required=False,
            min_value=Decimal(0),
            max_digits=14,
            decimal_places=4,
        )
        if person.may(Right.RELEASE_LOT):
            self.fields["status"] = forms.ChoiceField(
                label="Status",
                choices=[
                    (LotStatus.QUARANTINE, "Quarantine"),
                    (LotStatus.RELEASED, "Released at once"),
                ],
            )

    def clean_code(self) -> str:
        """Return the code in capitals, as it goes on the label."""
        return str(self.cleaned_data["code"]).upper()

    def facts(self) -> dict[str, Any]:
        """Return the delivery as the service takes it."""
        facts = {name: value for name, value in self.cleaned_data.items() if name != "unit"}
        cost = facts.pop("cost") or Decimal(0)
        return {
            **facts,
            "cost_amount": int(cost * _TEN_THOUSANDTHS),
            "packing": facts.get("packing", ""),
            "form": facts.get("form", ""),
            "status": LotStatus(facts.get("status", LotStatus.QUARANTINE)),
        }


@page(Right.RECEIVE_LOT, methods=("GET", "POST"))
def lot_new(request: SignedInRequest) -> HttpResponse:
    """Choose an item, then receive a lot of it."""
    item = _item(request.GET.get("item"))
    if item is None:
        usable = request.method != "POST"
        status = HTTPStatus.OK if usable else HTTPStatus.UNPROCESSABLE_ENTITY
        return render(request, "inventory/lot_new.html", {"kinds": _kinds()}, status=status)
    offers = offers_for([item.id]).get(item.id, [])
    if request.method != "POST":
        return _shown(request, item, offers, LotForm(item, offers, request.user))
    form = LotForm(item, offers, request.user, request.POST)

    def work() -> dict[str, Any]:
        of = get_object_or_404(Item, pk=item.id)
        lot = receive_lot(by=request.user, item=of, key=key_of(request), **form.facts())
        return {"lot": lot.pk, "code": lot.code}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, item, offers, form, status=done.status)
    messages.success(request, f"Lot {done.answer['code']} is received.")
    return onward(request, "lot-detail", done.answer["lot"])


def _item(asked: str | None) -> ItemRow | None:
    if not asked:
        return None
    item = item_row(int(asked)) if asked.isascii() and asked.isdecimal() else None
    if item is None or item.kind == ItemKind.KIT:
        raise Http404
    return item


def _kinds() -> list[tuple[str, list[ItemRow]]]:
    """Return what can be bought, kind by kind."""
    order = list(ItemKind)
    bought = [row for row in item_rows(active_only=True) if row.kind != ItemKind.KIT]
    bought.sort(key=lambda row: (order.index(ItemKind(row.kind)), row.name))
    return [
        (ItemKind(kind).label, list(rows)) for kind, rows in groupby(bought, lambda row: row.kind)
    ]


def _shown(
    request: SignedInRequest,
    item: ItemRow,
    offers: list[OfferRow],
    form: LotForm,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "kinds": _kinds(),
        "item": item,
        "offers": offers,
        "form": form,
        "is_liquid_yeast": is_liquid_yeast(item),
    }
    return render(request, "inventory/lot_new.html", context, status=status)


def _unit(item: ItemRow, person: User) -> str:
    amount = 1 if item.kind in LIGHT_KINDS else 100 * MG_PER_KG
    return natural_unit(amount, Measure(item.measure), person.units)


def _usual_form(item: ItemRow) -> str:
    return HopForm(item.specification["form"]).label.lower()


def _packaged_help(item: ItemRow) -> str:
    if item.kind == ItemKind.YEAST:
        return "The day on the pack. The life left in it is counted from there."
    return ""


def _shelf_help(item: ItemRow) -> str:
    if item.shelf_days is None:
        return ""
    return f"Copy it from the pack. This item usually keeps {item.shelf_days} days."
