"""Whether a lot may be used: release it, hold it, reject it, each once that is confirmed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.urls import reverse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from inventory.models import ItemKind, Lot
from inventory.queries.lots import LotRow
from inventory.queries.moves import analyses_of, reservations_of
from inventory.services.lots import hold_lot, reject_lot, release_lot
from inventory.web.fields import reason_field
from inventory.web.lots import found_lot


class VerdictForm(forms.Form):
    """The version a person judged, and why."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, *args: Any, reason_required: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["reason"] = reason_field("Why", required=reason_required)


@dataclass(frozen=True, kw_only=True)
class Verdict:
    """One way to judge a lot, in the words of its page."""

    act: Callable[..., Lot]
    title: str
    what: str
    button: str
    said: str
    reason_required: bool = True
    danger: bool = False


RELEASE = Verdict(
    act=release_lot,
    title="Release the lot",
    what="From now on the lot may be used and reserved. Planned runs that are short of it, or "
    "that hold another lot in its place, are balanced again.",
    button="Release it",
    said="is released",
    reason_required=False,
)
HOLD = Verdict(
    act=hold_lot,
    title="Put the lot on hold",
    what="Nothing more of the lot may be used or reserved until it is released. What is reserved "
    "of it stays reserved, and the runs that hold it say so.",
    button="Put it on hold",
    said="is on hold",
)
REJECT = Verdict(
    act=reject_lot,
    title="Reject the lot",
    what="The lot can never be used again, and everything that is reserved of it is given up. "
    "This cannot be undone. It stays on hand until it is scrapped.",
    button="Reject it for good",
    said="is rejected",
    danger=True,
)


@page(Right.RELEASE_LOT, methods=("GET", "POST"))
def lot_release(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Let a lot be used."""
    lot = found_lot(lot_id)
    return _judged(request, lot, RELEASE, _cautions_before_release(lot))


@page(Right.RELEASE_LOT, methods=("GET", "POST"))
def lot_hold(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Keep a lot from being used."""
    return _judged(request, found_lot(lot_id), HOLD, [])


@page(Right.RELEASE_LOT, methods=("GET", "POST"))
def lot_reject(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Reject a lot for good."""
    lot = found_lot(lot_id)
    held = sorted({row.conversion for row in reservations_of(lot_id) if row.ended_at is None})
    cautions = [f"These batches lose what they hold of it: {', '.join(held)}."] if held else []
    return _judged(request, lot, REJECT, cautions)


def _judged(
    request: SignedInRequest, lot: LotRow, verdict: Verdict, cautions: list[str]
) -> HttpResponse:
    required = verdict.reason_required
    if request.method != "POST":
        form = VerdictForm(initial={"version": lot.version}, reason_required=required)
        return _asked(request, lot, verdict, cautions, form)
    form = VerdictForm(request.POST, reason_required=required)

    def work() -> dict[str, Any]:
        verdict.act(
            by=request.user,
            lot=Lot.objects.get(pk=lot.id),
            expected=form.cleaned_data["version"],
            reason=form.cleaned_data["reason"],
        )
        return {"lot": lot.id}

    done = submitted(request, form, work)
    if done.answer is None:
        return _asked(request, lot, verdict, cautions, form, status=done.status)
    messages.success(request, f"Lot {lot.code} {verdict.said}.")
    return onward(request, "lot-detail", lot.id)


def _asked(
    request: SignedInRequest,
    lot: LotRow,
    verdict: Verdict,
    cautions: list[str],
    form: VerdictForm,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "thing": f"Lot {lot.code}",
        "back": reverse("lot-detail", args=[lot.id]),
        "title": verdict.title,
        "what": verdict.what,
        "cautions": cautions,
        "form": form,
        "button": verdict.button,
        "danger": verdict.danger,
    }
    return render(request, "web/act.html", context, status=status)


def _cautions_before_release(lot: LotRow) -> list[str]:
    cautions = []
    if lot.expired:
        cautions.append("Its best-before day is past, so released or not it cannot be used.")
    if lot.item_kind == ItemKind.HOP and not analyses_of(lot.id):
        cautions.append(
            "It has no analysis: weights will be worked out from the planning alpha of the item "
            "until its certificate is recorded."
        )
    return cautions
