"""The form by which kits are broken down into what they were packed from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, typed_amount
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import ItemKind, Lot
from inventory.models.codes import CODE_LENGTH
from inventory.queries.conversions import ContentRow
from inventory.queries.lot_codes import free_lot_codes
from inventory.queries.lots import LotRow
from inventory.services.breaking_down import Returned, break_down, packed_contents
from inventory.services.works import Taken
from inventory.web.fields import HeldField, PastDayField, StoreField, reason_field
from inventory.web.lots import found_lot

MOST_KITS = 100_000


class HowManyForm(forms.Form):
    """How many kits."""

    kits = forms.IntegerField(label="Kits to break down", min_value=1, max_value=MOST_KITS)


@dataclass(frozen=True, kw_only=True)
class ContentBoxes:
    """What the kits hold of a lot, with the boxes for what comes back of it."""

    row: ContentRow
    good: forms.BoundField
    unit: str
    code: forms.BoundField
    place: forms.BoundField


class BreakDownForm(forms.Form):
    """How much of each component is good, its new code, and where it is put."""

    def __init__(
        self,
        lot: LotRow,
        kits: int,
        contents: Sequence[ContentRow],
        person: User,
        *args: Any,
        **kwargs: Any,
    ) -> None:
        super().__init__(*args, **kwargs)
        self.lot, self.number, self.contents = lot, kits, contents
        self.units: dict[int, str] = {}
        grains = [row for row in contents if row.item_kind == ItemKind.GRAIN]
        mixed = len({row.item_id for row in grains}) > 1
        self.mixed = {row.lot_id for row in grains} if mixed else set[int]()
        self.fields["kits"] = forms.IntegerField(widget=forms.HiddenInput, initial=kits)
        self.fields["place"] = HeldField(lot, person, label="Taken from")
        codes = free_lot_codes([row.item_code for row in contents], timezone.localdate())
        for row, code in zip(contents, codes, strict=True):
            self._ask(row, code, person)
        self.fields["occurred_on"] = PastDayField(label="Done on", initial=timezone.localdate)
        self.fields["reason"] = reason_field("Where the rest went", required=False)
        self.fields["reason"].help_text = "Needed where more is lost than usual."

    @property
    def rows(self) -> Iterator[ContentBoxes]:
        """Yield what the kits hold, with its boxes."""
        for row in self.contents:
            yield ContentBoxes(
                row=row,
                good=self[f"good-{row.lot_id}"],
                unit=self.units[row.lot_id],
                code=self[f"code-{row.lot_id}"],
                place=self[f"place-{row.lot_id}"],
            )

    def facts(self) -> dict[str, Any]:
        """Return what was typed as the service takes it."""
        typed = self.cleaned_data
        return {
            "taken": Taken(lot_id=self.lot.id, quantity=self.number, place=typed["place"]),
            "returned": [
                Returned(
                    lot_id=row.lot_id,
                    quantity=self._good(row),
                    code=typed[f"code-{row.lot_id}"].upper(),
                    place=typed[f"place-{row.lot_id}"],
                )
                for row in self.contents
            ],
            "on": typed["occurred_on"],
            "reason": typed["reason"],
        }

    def _good(self, row: ContentRow) -> int:
        """Return what was typed, or to the last unit what was shown where nothing was changed."""
        name = f"good-{row.lot_id}"
        shown = 0 if row.lot_id in self.mixed else row.quantity
        return int(self.cleaned_data[name]) if name in self.changed_data else shown

    def _ask(self, row: ContentRow, code: str, person: User) -> None:
        """Ask for one component in the unit it is read in.

        All of it is good at first, but none of grains that lie in one bag: they do not part again.
        The unit goes by what the kits hold, so that a form sent again means the same.
        """
        typed, unit = typed_amount(row.quantity, Measure(row.measure), person.units)
        self.units[row.lot_id] = unit
        self.fields[f"good-{row.lot_id}"] = AmountField(
            measure=Measure(row.measure),
            unit=unit,
            label=f"Good of {row.item_name}, lot {row.code}, in {unit}",
            initial="0" if row.lot_id in self.mixed else typed,
        )
        self.fields[f"code-{row.lot_id}"] = forms.CharField(
            label=f"New code of what is good of lot {row.code}",
            max_length=CODE_LENGTH,
            initial=code,
        )
        self.fields[f"place-{row.lot_id}"] = StoreField(
            person,
            label=f"Where what is good of lot {row.code} is put",
            empty_label=None,
            initial=row.place_id,
        )


@page(Right.WORK_ON_LOT, methods=("GET", "POST"))
def lot_break_down(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Say how many kits, then what is good of each of their components."""
    lot = found_lot(lot_id)
    typed = request.POST if request.method == "POST" else request.GET
    asked = HowManyForm(typed if "kits" in typed or request.method == "POST" else None)
    packed = Lot.objects.get(pk=lot_id)
    if request.method != "POST" and asked.is_valid() and asked.cleaned_data["kits"] > lot.on_hand:
        asked.add_error("kits", f"{lot.on_hand} of them are on hand. Write that many or fewer.")
    if not asked.is_valid():
        packed_contents(packed, 1)  # says so at once where nobody knows what is in it
        status = HTTPStatus.UNPROCESSABLE_ENTITY if asked.is_bound else HTTPStatus.OK
        return _shown(request, lot, asked, None, status=status)
    kits = asked.cleaned_data["kits"]
    contents = packed_contents(packed, kits)
    if request.method != "POST":
        return _shown(request, lot, asked, BreakDownForm(lot, kits, contents, request.user))
    form = BreakDownForm(lot, kits, contents, request.user, request.POST)

    def work() -> dict[str, Any]:
        made = break_down(by=request.user, key=key_of(request), **form.facts())
        return {"work": made.pk, "code": made.code}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, lot, asked, form, status=done.status)
    messages.success(request, f"Work {done.answer['code']} is done.")
    return onward(request, "conversion-detail", done.answer["work"])


def _shown(
    request: SignedInRequest,
    lot: LotRow,
    asked: HowManyForm,
    form: BreakDownForm | None,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {"lot": lot, "asked": asked, "form": form}
    return render(request, "inventory/conversion_break_down.html", context, status=status)
