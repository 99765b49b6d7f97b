"""What is done to the stock of a lot: move it, count it, scrap it, take a posting back."""

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
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from boxwort.quantities import Measure, natural_unit
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import Lot, PostingKind
from inventory.queries.lots import LotRow
from inventory.services.lots import count_lot, move_lot, scrap_lot
from inventory.web.fields import HeldField, PastDayField, StoreField, add_amount, reason_field
from inventory.web.lots import found_lot


class StockForm(forms.Form):
    """What every act on a lot's stock asks: an amount, places, a day."""

    def __init__(self, lot: LotRow, person: User, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.lot = lot
        self.person = person
        self.ask()

    def ask(self) -> None:
        """Add the boxes of this act."""
        raise NotImplementedError

    def ask_amount(self, name: str, label: str) -> None:
        """Add a box for an amount, in the unit the lot is read in."""
        unit = natural_unit(self.lot.on_hand, Measure(self.lot.measure), self.person.units)
        add_amount(self, name, label, self.lot.measure, unit)

    def facts(self) -> dict[str, Any]:
        """Return what was typed as the service takes it."""
        return {name: value for name, value in self.cleaned_data.items() if name != "unit"}


class MoveForm(StockForm):
    """Some of a lot goes from one place to another."""

    def ask(self) -> None:
        """Ask how much goes from where to where."""
        self.fields["from_place"] = HeldField(self.lot, self.person, label="From")
        self.fields["to_place"] = StoreField(self.person, label="To", empty_label=None)
        self.ask_amount("quantity", "Amount")
        self.fields["occurred_on"] = _day("Moved on")


class CountForm(StockForm):
    """What was found of a lot in one place."""

    def ask(self) -> None:
        """Ask what was counted where, and why."""
        first = self.lot.held[0].place_id if self.lot.held else None
        self.fields["place"] = StoreField(
            self.person, label="Counted in", empty_label=None, initial=first
        )
        self.ask_amount("counted", "Found there")
        self.fields["occurred_on"] = _day("Counted on")
        self.fields["reason"] = reason_field("Why it was counted")


class ScrapForm(StockForm):
    """Some of a lot is thrown away, or taken as a sample."""

    def ask(self) -> None:
        """Ask how much is taken from where, and why."""
        self.fields["place"] = HeldField(self.lot, self.person, label="From")
        self.ask_amount("quantity", "Amount")
        self.fields["kind"] = forms.ChoiceField(
            label="What becomes of it",
            choices=[(PostingKind.WASTE, "Thrown away"), (PostingKind.SAMPLE, "Taken as a sample")],
        )
        self.fields["occurred_on"] = _day("Taken on")
        self.fields["reason"] = reason_field("Why")


@dataclass(frozen=True, kw_only=True)
class StockAct:
    """One act on a lot's stock, in the words of its page."""

    form: type[StockForm]
    act: Callable[..., Any]
    title: str
    what: str
    button: str
    said: str
    needs_stock: bool = True
    danger: bool = False


MOVE = StockAct(
    form=MoveForm,
    act=move_lot,
    title="Move stock",
    what="The lot ages from that day on by how warm the new place is.",
    button="Move it",
    said="is moved",
)
COUNT = StockAct(
    form=CountForm,
    act=count_lot,
    title="Count the lot",
    what="The books of that place are put right by what was found. Where less is left than is "
    "reserved, reservations end, the latest need first, and their batches are short.",
    button="Put the books right",
    said="is counted",
    needs_stock=False,
)
SCRAP = StockAct(
    form=ScrapForm,
    act=scrap_lot,
    title="Scrap stock",
    what="What is reserved cannot be scrapped: reject or count the lot, or cancel the work first.",
    button="Take it out of stock",
    said="is posted out of stock",
    danger=True,
)


@page(Right.MOVE_STOCK, methods=("GET", "POST"))
def lot_move(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Carry some of a lot to another place."""
    return _acted(request, lot_id, MOVE)


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def lot_count(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Put the books of a lot right by a count."""
    return _acted(request, lot_id, COUNT)


@page(Right.CORRECT_STOCK, methods=("GET", "POST"))
def lot_scrap(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Throw some of a lot away, or take a sample of it."""
    return _acted(request, lot_id, SCRAP)


def _acted(request: SignedInRequest, lot_id: int, act: StockAct) -> HttpResponse:
    lot = found_lot(lot_id)
    if request.method != "POST":
        if act.needs_stock and not lot.held:
            raise used_up(lot)
        return _asked(request, lot, act, act.form(lot, request.user))
    form = act.form(lot, request.user, request.POST)

    def work() -> dict[str, Any]:
        of = Lot.objects.select_related("item").get(pk=lot_id)
        act.act(by=request.user, lot=of, key=key_of(request), **form.facts())
        return {"lot": lot_id}

    done = submitted(request, form, work)
    if done.answer is None:
        return _asked(request, lot, act, form, status=done.status)
    messages.success(request, f"Lot {lot.code} {act.said}.")
    return onward(request, "lot-detail", lot_id)


def used_up(lot: LotRow) -> Refusal:
    """Return what is said of an act on a lot of which nothing is left."""
    return Refusal(
        "nothing-on-hand",
        f"Nothing of lot {lot.code} is on hand.",
        "Count it if some lies in store after all.",
    )


def _day(label: str) -> PastDayField:
    return PastDayField(label=label, initial=timezone.localdate)


def _asked(
    request: SignedInRequest,
    lot: LotRow,
    act: StockAct,
    form: StockForm,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "thing": f"Lot {lot.code}",
        "back": reverse("lot-detail", args=[lot.id]),
        "title": act.title,
        "what": act.what,
        "form": form,
        "button": act.button,
        "danger": act.danger,
    }
    return render(request, "web/act.html", context, status=status)
