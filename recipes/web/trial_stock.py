"""Taking the stock that a trial batch was brewed from, and giving it back."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse

from boxwort.quantities import Measure, natural_unit
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, typed_amount
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.services.conversions import Used
from recipes.queries.trial_stock import StockOffer, StockRow, lot_measures, trial_stock
from recipes.services.trials import give_trial_stock_back, take_trial_stock
from recipes.web.trials import found_trial

REASON_LENGTH = 200
_BOX = re.compile(r"[a-z]+-\d{1,3}-lot-\d{1,15}", re.ASCII)


@dataclass(frozen=True, kw_only=True)
class OfferedLot:
    """A lot of a line with its box in the form."""

    offer: StockOffer
    box: forms.BoundField


@dataclass(frozen=True, kw_only=True)
class OfferedLine:
    """A line with the boxes of its lots."""

    row: StockRow
    lots: tuple[OfferedLot, ...]


class StockForm(forms.Form):
    """How much was taken of each lot for each line.

    What is sent is read by the boxes that were sent, and not by what could be taken now: a form
    that is sent again after it took all of a lot is still the same request.
    """

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(
        self, rows: Sequence[StockRow], system: str, data: QueryDict | None = None
    ) -> None:
        super().__init__(data)
        self.rows = rows
        shown = {_box(row, offer): offer for row in rows for offer in row.offers}
        named = [name for name in data if _BOX.fullmatch(name)] if data is not None else shown
        measures = lot_measures(_line_and_lot(name)[1] for name in named)
        for name in named:
            measure = measures.get(_line_and_lot(name)[1])
            if measure is not None:
                self.fields[name] = _amount(shown.get(name), measure, system)

    def lines(self) -> list[OfferedLine]:
        """Return the boxes by line, for the table."""
        return [
            OfferedLine(
                row=row,
                lots=tuple(
                    OfferedLot(offer=offer, box=self[_box(row, offer)])
                    for offer in row.offers
                    if _box(row, offer) in self.fields
                ),
            )
            for row in self.rows
        ]

    def used(self) -> list[Used]:
        """Return what was taken, as the service takes it."""
        taken = [
            (*_line_and_lot(name), quantity)
            for name, quantity in self.cleaned_data.items()
            if name != "version" and quantity
        ]
        return [Used(line=line, lot_id=lot, quantity=quantity) for line, lot, quantity in taken]


class BackForm(forms.Form):
    """Why the stock of a trial is given back."""

    reason = forms.CharField(label="Why it was wrong", max_length=REASON_LENGTH)
    version = forms.IntegerField(widget=forms.HiddenInput)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def trial_stock_take(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Take what a trial was brewed from out of stock."""
    trial = found_trial(trial_id)
    rows = [] if trial.conversion else trial_stock(trial)
    system, status = request.user.units, HTTPStatus.OK
    form = StockForm(rows, system)
    form.initial["version"] = trial.version
    if request.method == "POST":
        form = StockForm(rows, system, request.POST)

        def work() -> dict[str, Any]:
            take_trial_stock(
                by=request.user,
                trial=trial,
                used=form.used(),
                expected=form.cleaned_data["version"],
                key=key_of(request),
            )
            return {"trial": trial.pk}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"The stock of trial {trial} is taken.")
            return onward(request, "trial-detail", trial.pk)
        status = HTTPStatus(done.status)
    context = {"trial": trial, "form": form}
    return render(request, "recipes/trial_stock.html", context, status=status)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def trial_stock_back(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Give the stock of a trial back, where it was written down wrongly."""
    trial = found_trial(trial_id)
    form, status = BackForm(initial={"version": trial.version}), HTTPStatus.OK
    if request.method == "POST":
        form = BackForm(request.POST)

        def work() -> dict[str, Any]:
            give_trial_stock_back(
                by=request.user,
                trial=trial,
                expected=form.cleaned_data["version"],
                key=key_of(request),
                reason=form.cleaned_data["reason"],
            )
            return {"trial": trial.pk}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"The stock of trial {trial} is back.")
            return onward(request, "trial-detail", trial.pk)
        status = HTTPStatus(done.status)
    context = {
        "thing": f"Trial {trial}",
        "back": reverse("trial-detail", args=[trial.pk]),
        "title": "Give the stock back",
        "what": "What was taken lies in stock again, as if it had not been used; then it can be "
        "taken rightly.",
        "button": "Give it back",
        "danger": True,
        "form": form,
    }
    return render(request, "web/act.html", context, status=status)


def _box(row: StockRow, offer: StockOffer) -> str:
    return f"{row.key}-lot-{offer.lot.lot_id}"


def _line_and_lot(name: str) -> tuple[str, int]:
    line, _, lot = name.rpartition("-lot-")
    return line, int(lot)


def _amount(offer: StockOffer | None, measure: Measure, system: str) -> AmountField:
    shown = ""
    if offer and offer.proposed:
        number, unit = typed_amount(offer.proposed, measure, system)
        shown = number if measure is Measure.COUNT else f"{number} {unit}"
    code = offer.lot.code if offer else ""
    return AmountField(
        measure=measure,
        unit=natural_unit(1, measure, system),
        label=f"Used of lot {code}",
        required=False,
        initial=shown,
    )
