"""The page on which a certificate or a laboratory result is recorded."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.errors import Refusal
from boxwort.figures import on_date
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from inventory.models import Analysis, AnalysisKind, ItemKind, Lot
from inventory.models.analyses import BASIS_CHOICES, METHOD_CHOICES
from inventory.queries.lots import LotRow
from inventory.queries.moves import AnalysisRow, analyses_of
from inventory.services.analyses import MEASURED_ON, record_analysis
from inventory.services.certificates import WRITTEN_UNITS, said
from inventory.web.fields import PastDayField
from inventory.web.lots import found_lot

_HUNDRED = Decimal(100)


class AnalysisForm(forms.Form):
    """One measured value, typed as the certificate writes it."""

    measured = forms.ChoiceField(label="Measured")
    value = forms.DecimalField(label="Value", min_value=Decimal(0), max_digits=12)
    sampled_on = PastDayField(
        label="Sampled on", help_text="Ageing is counted from this day, not from the receipt."
    )
    method = forms.ChoiceField(label="Method", choices=METHOD_CHOICES)
    basis = forms.ChoiceField(
        label="Basis",
        choices=BASIS_CHOICES,
        help_text="What is given on dry matter is put to the lot as it is by its moisture.",
    )
    at_harvest = forms.BooleanField(
        label="Known from the harvest",
        required=False,
        help_text="An alpha acid of the harvest, not of a sample of this lot. A storage index read "
        "since then says what is left of it.",
    )
    spread = forms.DecimalField(
        label="Spread, in % of the value",
        required=False,
        min_value=Decimal(0),
        max_digits=6,
        help_text="One standard deviation, where the laboratory gives it.",
    )
    supersedes = forms.TypedChoiceField(
        label="Stands in place of", required=False, coerce=int, empty_value=None
    )

    def __init__(self, lot: LotRow, earlier: list[AnalysisRow], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        kind = ItemKind(lot.item_kind)
        self._choices("measured", _measurable(kind))
        if kind != ItemKind.HOP:
            del self.fields["at_harvest"]
        self._choices("supersedes", [("", "No earlier analysis"), *self._standing(earlier)])

    def facts(self) -> dict[str, Any]:
        """Return the value as the service takes it, with the paper's own number and unit."""
        kind, unit = str(self.cleaned_data["measured"]).split(":")
        spread = self.cleaned_data["spread"]
        return {
            "kind": AnalysisKind(kind),
            **asdict(said(AnalysisKind(kind), self.cleaned_data["value"], unit)),
            "sampled_on": self.cleaned_data["sampled_on"],
            "method": self.cleaned_data["method"],
            "basis": self.cleaned_data["basis"],
            "at_harvest": self.cleaned_data.get("at_harvest", False),
            "spread": None if spread is None else float(spread / _HUNDRED),
        }

    def _standing(self, earlier: list[AnalysisRow]) -> list[tuple[Any, str]]:
        """Return the analyses to choose from; all of them count when a form comes again."""
        return [
            (row.id, f"{row.kind_name}, sampled {on_date(row.sampled_on)}, by {row.by}")
            for row in earlier
            if self.is_bound or not row.superseded
        ]

    def _choices(self, name: str, choices: list[tuple[Any, str]]) -> None:
        box = self.fields[name]
        if isinstance(box, forms.ChoiceField):
            box.choices = choices


@page(Right.RECORD_ANALYSIS, methods=("GET", "POST"))
def lot_analysis(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Record what was measured on a lot."""
    lot = found_lot(lot_id)
    if not _measurable(ItemKind(lot.item_kind)):
        raise Refusal(
            "nothing-to-measure",
            f"Nothing that counts in a recipe is measured on {lot.item_name}.",
            "Analyses are kept of grain, extract, sugar, hops and yeast.",
        )
    earlier = analyses_of(lot_id)
    if request.method != "POST":
        return _shown(request, lot, AnalysisForm(lot, earlier))
    form = AnalysisForm(lot, earlier, request.POST)

    def work() -> dict[str, Any]:
        of = Lot.objects.select_related("item").get(pk=lot_id)
        superseded = form.cleaned_data["supersedes"]
        wrong = get_object_or_404(Analysis, pk=superseded) if superseded else None
        made = record_analysis(by=request.user, lot=of, supersedes=wrong, **form.facts())
        return {"analysis": made.pk}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, lot, form, status=done.status)
    messages.success(request, f"The analysis of lot {lot.code} is recorded.")
    return onward(request, "lot-detail", lot_id)


def _measurable(item_kind: ItemKind) -> list[tuple[Any, str]]:
    """Return what is measured on a kind of item, once for each unit it is written in."""
    return [
        (f"{kind}:{unit}", f"{kind.label}, in {unit}")
        for kind, kinds in MEASURED_ON.items()
        if item_kind in kinds
        for unit in WRITTEN_UNITS[kind]
    ]


def _shown(
    request: SignedInRequest, lot: LotRow, form: AnalysisForm, *, status: int = HTTPStatus.OK
) -> HttpResponse:
    return render(request, "inventory/lot_analysis.html", {"lot": lot, "form": form}, status=status)
