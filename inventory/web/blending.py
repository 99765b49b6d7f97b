"""The form by which lots of one item are blended into one."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from boxwort.quantities import Measure, natural_unit
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import ConversionKind, ItemKind, Packing, Place
from inventory.models.codes import CODE_LENGTH
from inventory.queries.holdings import HoldingRow, fitting_works, holdings_of
from inventory.queries.lot_codes import free_lot_code
from inventory.queries.lots import LotRow
from inventory.services.blending import blend_lots
from inventory.services.works import Made, Taken
from inventory.web.fields import PastDayField, StoreField, add_amount, reason_field
from inventory.web.lots import found_lot
from inventory.web.repacking import usual_loss


@dataclass(frozen=True, kw_only=True)
class BlendRow:
    """What lies of a lot in a place, with the box for what is taken of it."""

    holding: HoldingRow
    box: forms.BoundField


class BlendForm(forms.Form):
    """How much of each lot, and the lot that is made."""

    def __init__(self, lot: LotRow, person: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        today = timezone.localdate()
        self.holdings = [
            row
            for row in holdings_of(lot.item_id, today, all_of_them=self.is_bound)
            if not self.is_bound or _name(row) in self.data  # as the page that was sent had them
        ]
        unit = natural_unit(lot.on_hand, Measure(lot.measure), person.units)
        for row in self.holdings:
            label = f"Taken of lot {row.code} in {row.place_name}"
            add_amount(self, _name(row), label, lot.measure, unit)
            self.fields[_name(row)].required = False
        add_amount(self, "made", "Made", lot.measure, unit)
        self.fields["code"] = forms.CharField(
            label="Code of the blend",
            max_length=CODE_LENGTH,
            initial=free_lot_code(lot.item_code, today),
        )
        if lot.item_kind == ItemKind.HOP:
            self.fields["packing"] = forms.ChoiceField(
                label="Packing", choices=Packing.choices, initial=lot.packing
            )
        self.fields["to_place"] = StoreField(
            person,
            label="Put in",
            empty_label=None,
            initial=lot.held[0].place_id if lot.held else None,
        )
        self.fields["occurred_on"] = PastDayField(label="Done on", initial=timezone.localdate)
        self.fields["reason"] = reason_field("Where the rest went", required=False)
        self.fields["reason"].help_text = "Needed where more is lost than usual."

    @property
    def rows(self) -> Iterator[BlendRow]:
        """Yield what can be taken, with its boxes."""
        for row in self.holdings:
            yield BlendRow(holding=row, box=self[_name(row)])

    @property
    def others(self) -> Iterator[forms.BoundField]:
        """Yield the boxes that are not of one lot."""
        names = {_name(row) for row in self.holdings}
        yield from (box for box in self if box.name not in names)

    def clean_code(self) -> str:
        """Return the code in capitals, as it goes on the label."""
        return str(self.cleaned_data["code"]).upper()

    def facts(self) -> dict[str, Any]:
        """Return what was typed as the service takes it."""
        typed = self.cleaned_data
        places = Place.objects.in_bulk({row.place_id for row in self.holdings})
        return {
            "taken": [
                Taken(lot_id=row.lot_id, quantity=typed[_name(row)], place=places[row.place_id])
                for row in self.holdings
                if typed[_name(row)]
            ],
            "made": Made(code=typed["code"], quantity=typed["made"], place=typed["to_place"]),
            "packing": typed.get("packing", ""),
            "on": typed["occurred_on"],
            "reason": typed["reason"],
        }


@page(Right.WORK_ON_LOT, methods=("GET", "POST"))
def lot_blend(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Blend a lot with others of its item."""
    lot = found_lot(lot_id)
    if ConversionKind.BLEND not in fitting_works(lot.item_kind, lot.measure, crushed=False):
        raise Refusal(
            "work-does-not-fit",
            f"{lot.item_name} is counted by the piece, and pieces cannot be blended.",
            "Keep the lots apart.",
        )
    form = BlendForm(lot, request.user, request.POST if request.method == "POST" else None)
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def work() -> dict[str, Any]:
            made = blend_lots(by=request.user, key=key_of(request), **form.facts())
            return {"work": made.pk, "code": made.code}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"Work {done.answer['code']} is done.")
            return onward(request, "conversion-detail", done.answer["work"])
        status = done.status
    context = {"lot": lot, "form": form, "loss": usual_loss(lot.item_id)}
    return render(request, "inventory/conversion_blend.html", context, status=status)


def _name(row: HoldingRow) -> str:
    return f"take-{row.lot_id}-{row.place_id}"
