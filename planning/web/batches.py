"""Packing a batch: what was made and what it really took; and taking that back."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, typed_amount
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.kept import Words, kept
from boxwort.web.keys import key_of
from boxwort.web.refusals import status_of
from inventory.models import Place, PlaceKind
from planning.models import Batch
from planning.queries.runs import AllocationRow, BatchRow, batch_rows
from planning.services.packing import Packed, check_ready, pack_batch, undo_packing
from planning.web.reasons import ReasonForm, reason_form


@dataclass(frozen=True)
class UsedRow:
    """A lot of the batch, and the box for what it really gave."""

    row: AllocationRow
    used: forms.BoundField
    unit: str


class PackForm(forms.Form):
    """What came of packing a batch; each amount starts as the sheet says."""

    kits = forms.IntegerField(label="Kits packed", min_value=1)
    packed_on = forms.DateField(label="Packed on", widget=DayInput)
    place = forms.ModelChoiceField(
        Place.objects.filter(kind=PlaceKind.STORAGE), label="Where the kits go", empty_label=None
    )
    all_used = forms.BooleanField(
        label="Fewer kits came of it, and all of the amounts below were used all the same",
        required=False,
    )
    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, batch: BatchRow, system: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.batch = batch
        self.initial = {
            "kits": batch.kits,
            "packed_on": timezone.localdate(),
            "version": batch.version,
        }
        self.fields["kits"].widget.attrs |= {"max": batch.kits, "autofocus": True}
        for row in batch.allocations:
            typed, unit = typed_amount(row.quantity, Measure(row.measure), system)
            self.fields[f"used_{row.id}"] = AmountField(
                measure=Measure(row.measure),
                unit=unit,
                initial=typed,
                label=f"Used of {row.item_name}, lot {row.lot_code}, in {unit}",
            )
            label = {"aria-label": self.fields[f"used_{row.id}"].label}
            self.fields[f"used_{row.id}"].widget.attrs |= label

    def rows(self) -> Iterator[UsedRow]:
        """Yield the lots with their boxes, for the table of the form."""
        for row in self.batch.allocations:
            used = self[f"used_{row.id}"]
            yield UsedRow(row=row, used=used, unit=getattr(used.field, "unit", ""))

    def clean(self) -> dict[str, Any]:
        """Ask what was really used when fewer kits were packed than the sheet is for."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        fewer = (cleaned.get("kits") or self.batch.kits) < self.batch.kits
        if fewer and not cleaned.get("all_used") and not self._differing():
            msg = (
                f"The amounts are those of {self.batch.kits} kits, and fewer were packed: write "
                "what each lot really gave, or tick that all of it was used."
            )
            raise forms.ValidationError(msg)
        return cleaned

    def packed(self) -> Packed:
        """Return what to post; an amount left as it was is exactly what is reserved."""
        used = {row.id: self.cleaned_data[f"used_{row.id}"] for row in self._differing()}
        return Packed(kits=self.cleaned_data["kits"], used=used)

    def _differing(self) -> list[AllocationRow]:
        return [row for row in self.batch.allocations if f"used_{row.id}" in self.changed_data]


@page(Right.PACK_RUN, methods=("GET", "POST"))
def batch_pack(request: SignedInRequest, batch_id: int) -> HttpResponse:
    """Record that a batch is packed."""
    batch = _batch(batch_id)
    row = _row(batch)
    if request.method != "POST":
        check_ready(batch)
        return _form(request, batch, PackForm(row, request.user.units))
    form = PackForm(row, request.user.units, request.POST)
    if not form.is_valid():
        return _form(request, batch, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        answered(request, _payload(form), lambda: _packed(request, batch, form))
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return _form(request, batch, form, status=status_of(refusal))
    messages.success(request, f"Batch {batch.code} is packed; its kits are in stock.")
    return onward(request, "run-detail", batch.run_line.run_id)


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def batch_undo(request: SignedInRequest, batch_id: int) -> HttpResponse:
    """Take back the packing of a batch, once that is confirmed with a reason."""
    batch = _batch(batch_id)

    def write(form: ReasonForm) -> dict[str, Any]:
        undo_packing(
            by=request.user,
            batch=batch,
            expected=form.cleaned_data["version"],
            reason=form.cleaned_data["reason"],
            key=key_of(request),
        )
        return {"batch": batch_id}

    words = Words(
        title="Undo the packing",
        thing=f"Batch {batch.code}",
        back=reverse("run-detail", args=[batch.run_line.run_id]),
        what="What the batch used is stock again and its kits are taken out of stock. The batch "
        "ends; plan a new run for its kits.",
        button="Undo the packing",
        said=f"The packing of batch {batch.code} is undone.",
        danger=True,
    )
    return kept(request, reason_form(batch.version, "Why it is undone"), write, words)


def _batch(batch_id: int) -> Batch:
    rows = Batch.objects.select_related("run_line__run", "run_line__kit__item", "conversion")
    return get_object_or_404(rows, pk=batch_id)


def _row(batch: Batch) -> BatchRow:
    for row in batch_rows(batch.run_line.run_id):
        if row.id == batch.pk:
            return row
    raise Http404


def _packed(request: SignedInRequest, batch: Batch, form: PackForm) -> dict[str, Any]:
    lot = pack_batch(
        by=request.user,
        batch=batch,
        expected=form.cleaned_data["version"],
        packed=form.packed(),
        place=form.cleaned_data["place"],
        on=form.cleaned_data["packed_on"],
        key=key_of(request),
    )
    return {"lot": lot.pk}


def _payload(form: PackForm) -> dict[str, Any]:
    packed = form.packed()
    return {
        "kits": packed.kits,
        "used": {str(row): quantity for row, quantity in packed.used.items()},
        "place": form.cleaned_data["place"].pk,
        "on": form.cleaned_data["packed_on"],
        "version": form.cleaned_data["version"],
    }


def _form(
    request: SignedInRequest, batch: Batch, form: PackForm, status: int = HTTPStatus.OK
) -> HttpResponse:
    context = {"form": form, "batch": form.batch, "run": batch.run_line.run}
    return render(request, "planning/batch_pack.html", context, status=status)
