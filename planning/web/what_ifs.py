"""What-ifs: what would be otherwise, and the plans side by side."""

from __future__ import annotations

from http import HTTPStatus
from typing import TYPE_CHECKING, Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.numbers import MeasuredField, PercentField, WholeField
from boxwort.web.submitting import submitted
from inventory.models import ItemKind, Lot, LotStatus, Supplier
from planning.models import ChangeKind, WhatIf
from planning.queries.what_ifs import comparison, what_if_rows
from planning.services.what_ifs import (
    Other,
    add_change,
    begin_what_if,
    drop_what_if,
    other_demand,
    other_lead_time,
    other_lot_alpha,
    other_lot_date,
    take_change_out,
)
from recipes.models import Kit

MOST_SIDE_BY_SIDE = 4


if TYPE_CHECKING:  # the stubs know what is chosen from; the class itself takes no argument
    LotChoice = forms.ModelChoiceField[Lot]
else:
    LotChoice = forms.ModelChoiceField


class BeginForm(forms.Form):
    """What would be otherwise, in a few words."""

    name = forms.CharField(label="What would be otherwise", max_length=80)
    note = forms.CharField(label="Note", max_length=200, required=False)


class ChangeForm(forms.Form):
    """One change; each kind of change has boxes of its own."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def other(self) -> Other:
        """Return the change."""
        raise NotImplementedError


class DemandChange(ChangeForm):
    """Another forecast."""

    kit = forms.ModelChoiceField(
        Kit.objects.filter(offered=True).select_related("item").order_by("item__name"),
        label="Kit",
    )
    week = forms.DateField(
        label="Week", widget=DayInput, required=False, help_text="Any day of it; empty: every week."
    )
    kits = WholeField(label="Kits a week", required=False)
    times = MeasuredField(label="or times the forecast", required=False)

    def clean(self) -> dict[str, Any]:
        """Ask for a number, and for one only."""
        cleaned: dict[str, Any] = super().clean() or self.cleaned_data
        given = [cleaned.get("kits") is not None, cleaned.get("times") is not None]
        if sum(given) != 1 and not self.errors:
            self.add_error("kits", "Write a number of kits, or how many times the forecast.")
        return cleaned

    def other(self) -> Other:
        """Return the change."""
        asked = self.cleaned_data
        times = 1.0 if asked["times"] is None else asked["times"]
        return other_demand(asked["kit"], week=asked["week"], kits=asked["kits"], times=times)


class LotField(LotChoice):
    """A released lot of which some is on hand, named with its item; ``kinds`` of items, or any."""

    def __init__(self, *kinds: ItemKind, **kwargs: Any) -> None:
        lots = Lot.objects.filter(stock__on_hand__gt=0, status=LotStatus.RELEASED)
        if kinds:
            lots = lots.filter(item__kind__in=kinds)
        super().__init__(lots.select_related("item").order_by("code"), **kwargs)

    def label_from_instance(self, obj: Any) -> str:
        """Name the lot and its item."""
        return f"{obj.code}, {obj.item.name}"


class LotDateChange(ChangeForm):
    """Another best-before day."""

    lot = LotField(label="Lot")
    day = forms.DateField(label="Best before", widget=DayInput)

    def other(self) -> Other:
        """Return the change."""
        return other_lot_date(self.cleaned_data["lot"], self.cleaned_data["day"])


class LotAlphaChange(ChangeForm):
    """Another alpha acid."""

    lot = LotField(ItemKind.HOP, label="Hop lot")
    alpha = PercentField(label="Alpha acid today (%)")

    def other(self) -> Other:
        """Return the change."""
        return other_lot_alpha(self.cleaned_data["lot"], self.cleaned_data["alpha"])


class LeadTimeChange(ChangeForm):
    """Another lead time."""

    supplier = forms.ModelChoiceField(Supplier.objects.filter(active=True), label="Supplier")
    lead_days = WholeField(label="Lead time (days)")

    def other(self) -> Other:
        """Return the change."""
        return other_lead_time(self.cleaned_data["supplier"], self.cleaned_data["lead_days"])


FORMS: dict[str, type[ChangeForm]] = {
    ChangeKind.DEMAND: DemandChange,
    ChangeKind.LOT_DATE: LotDateChange,
    ChangeKind.LOT_ALPHA: LotAlphaChange,
    ChangeKind.LEAD_TIME: LeadTimeChange,
}


@page(Right.READ)
def what_if_list(request: SignedInRequest) -> HttpResponse:
    """List the what-ifs."""
    context = {"rows": what_if_rows(), "form": BeginForm()}
    return render(request, "planning/what_if_list.html", context)


@page(Right.PLAN_RUN, methods=("POST",))
def what_if_begin(request: SignedInRequest) -> HttpResponse:
    """Begin a what-if."""
    form = BeginForm(request.POST)

    def work() -> dict[str, Any]:
        made = begin_what_if(by=request.user, **form.cleaned_data)
        return {"what_if": made.pk}

    done = submitted(request, form, work)
    if done.answer is None:
        context = {"rows": what_if_rows(), "form": form}
        return render(request, "planning/what_if_list.html", context, status=done.status)
    return onward(request, "what-if-detail", done.answer["what_if"])


@page(Right.READ)
def what_if_detail(request: SignedInRequest, what_if_id: int) -> HttpResponse:
    """Show a what-if: its changes, and forms for more."""
    return _shown(request, get_object_or_404(WhatIf, pk=what_if_id))


@page(Right.PLAN_RUN, methods=("POST",))
def what_if_add(request: SignedInRequest, what_if_id: int, kind: str) -> HttpResponse:
    """Add a change."""
    what_if = get_object_or_404(WhatIf, pk=what_if_id)
    if kind not in FORMS:
        raise Refusal(
            "change-unknown", f"Nothing of the kind {kind!r} can be otherwise.", "Open it again."
        )
    form = FORMS[kind](request.POST, prefix=kind)

    def work() -> dict[str, Any]:
        add_change(
            by=request.user,
            what_if=what_if,
            expected=form.cleaned_data["version"],
            other=form.other(),
        )
        return {"what_if": what_if_id}

    done = submitted(request, form, work, payload=lambda: _payload(form))
    if done.answer is None:
        return _shown(request, what_if, bound={kind: form}, status=done.status)
    messages.success(request, f"{what_if.name} has the change.")
    return onward(request, "what-if-detail", what_if_id)


def _payload(form: ChangeForm) -> dict[str, Any]:
    other = form.other()
    return {"kind": other.kind, "about": other.about, "values": other.values}


class TakeOutForm(forms.Form):
    """Which change, and the version a person started from."""

    version = forms.IntegerField()
    change = forms.IntegerField(required=False)


@page(Right.PLAN_RUN, methods=("POST",))
def what_if_take_out(request: SignedInRequest, what_if_id: int) -> HttpResponse:
    """Take a change out again."""
    what_if = get_object_or_404(WhatIf, pk=what_if_id)
    form = TakeOutForm(request.POST)
    asked = form.cleaned_data if form.is_valid() else {"version": 0, "change": 0}

    def work() -> dict[str, Any]:
        take_change_out(
            by=request.user,
            what_if=what_if,
            expected=asked["version"],
            change_id=asked["change"] or 0,
        )
        return {"what_if": what_if_id}

    answered(request, asked, work)
    messages.success(request, "The change is taken out.")
    return onward(request, "what-if-detail", what_if_id)


@page(Right.PLAN_RUN, methods=("POST",))
def what_if_drop(request: SignedInRequest, what_if_id: int) -> HttpResponse:
    """Drop a what-if."""
    form = TakeOutForm(request.POST)
    asked = form.cleaned_data if form.is_valid() else {"version": 0}

    def work() -> dict[str, Any]:
        what_if = get_object_or_404(WhatIf, pk=what_if_id)
        drop_what_if(by=request.user, what_if=what_if, expected=asked["version"])
        return {"name": what_if.name}

    done = answered(request, asked, work)
    messages.success(request, f"{done['name']} is dropped.")
    return onward(request, "what-if-list")


@page(Right.READ)
def what_if_compare(request: SignedInRequest) -> HttpResponse:
    """Show the plan as it is beside the chosen what-ifs, or beside all of them."""
    chosen = [
        int(text) for text in request.GET.getlist("what_if") if text.isascii() and text.isdecimal()
    ]
    rows = WhatIf.objects.filter(pk__in=chosen) if chosen else WhatIf.objects.all()
    shown = list(rows[:MOST_SIDE_BY_SIDE])
    found = comparison(timezone.localdate(), shown) if shown else None
    context = {
        "found": found,
        "what_ifs": what_if_rows([row.pk for row in shown]) if shown else (),
        "left_out": max(rows.count() - MOST_SIDE_BY_SIDE, 0),
    }
    return render(request, "planning/what_if_compare.html", context)


def _shown(
    request: SignedInRequest,
    what_if: WhatIf,
    *,
    bound: dict[str, ChangeForm] | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    (row,) = what_if_rows([what_if.pk])
    change_forms = [
        (
            kind.value,
            kind.label,
            (bound or {}).get(kind)
            or FORMS[kind](prefix=kind.value, initial={"version": row.version}),
        )
        for kind in ChangeKind
    ]
    context = {"what_if": row, "forms": change_forms}
    return render(request, "planning/what_if_detail.html", context, status=status)
