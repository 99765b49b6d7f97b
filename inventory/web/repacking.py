"""The forms by which one lot becomes another: repack, mill, decant."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.figures import share
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.keys import key_of
from boxwort.web.submitting import submitted
from inventory.models import Conversion, ConversionKind, Item, ItemKind, Lot, Packing
from inventory.models.codes import CODE_LENGTH
from inventory.queries.lot_codes import free_lot_codes
from inventory.services.repacking import Left, check_fits, decant_lot, mill_lot, repack_lot
from inventory.services.works import Made, Taken
from inventory.web.fields import HeldField, PastDayField, StoreField, reason_field
from inventory.web.lots import found_lot
from inventory.web.stock_acts import StockForm, used_up


class WorkForm(StockForm):
    """What is taken of a lot, what comes of it, and what is left of the container."""

    kind: ConversionKind

    def ask(self) -> None:
        """Ask for the amounts, the new lot and its place."""
        today = timezone.localdate()
        codes = free_lot_codes([self.lot.item_code, self.lot.item_code], today)
        first = self.lot.held[0].place_id if self.lot.held else None
        self.fields["place"] = HeldField(self.lot, self.person, label="Taken from")
        self.ask_amount("taken", "Taken")
        self.ask_amount("made", "Made")
        self.fields["code"] = _code("Code of the new lot", codes[0])
        if self.kind == ConversionKind.REPACK and self.lot.item_kind == ItemKind.HOP:
            self.fields["packing"] = forms.ChoiceField(
                label="New packing",
                choices=[("", "Choose how it is packed now"), *Packing.choices],
                help_text="The alpha acid falls by it from this day.",
            )
        self.fields["to_place"] = StoreField(
            self.person, label="Put in", empty_label=None, initial=first
        )
        self.ask_amount("left", "Left of an opened container")
        self.fields["left"].required = False
        self.fields["left_code"] = _code("Code of what is left", "", required=False)
        self.fields["left_code"].help_text = (
            f"Empty: it stays in lot {self.lot.code}, which counts as opened. With a code, such as "
            f"{codes[1]}, it becomes a lot of its own."
        )
        self.fields["occurred_on"] = PastDayField(label="Done on", initial=timezone.localdate)
        self.fields["reason"] = reason_field("Where the rest went", required=False)
        self.fields["reason"].help_text = "Needed where more is lost than usual."

    def clean_code(self) -> str:
        """Return the code in capitals, as it goes on the label."""
        return str(self.cleaned_data["code"]).upper()

    def clean_left_code(self) -> str:
        """Return the code in capitals, as it goes on the label."""
        return str(self.cleaned_data["left_code"]).upper()

    def facts(self) -> dict[str, Any]:
        """Return what was typed as the service takes it."""
        typed = self.cleaned_data
        facts = {
            "taken": Taken(lot_id=self.lot.id, quantity=typed["taken"], place=typed["place"]),
            "made": Made(code=typed["code"], quantity=typed["made"], place=typed["to_place"]),
            "left": Left(quantity=typed["left"] or 0, code=typed["left_code"]),
            "on": typed["occurred_on"],
            "reason": typed["reason"],
        }
        if self.kind == ConversionKind.REPACK:
            facts["packing"] = typed.get("packing", "")
        return facts


class RepackForm(WorkForm):
    """Other bags."""

    kind = ConversionKind.REPACK


class MillForm(WorkForm):
    """Crushed grain."""

    kind = ConversionKind.MILL


class DecantForm(WorkForm):
    """Smaller containers."""

    kind = ConversionKind.DECANT


@dataclass(frozen=True, kw_only=True)
class Work:
    """One kind of work in the words of its page; ``caution`` says how it can hurt."""

    form: type[WorkForm]
    act: Callable[..., Conversion]
    title: str
    what: str
    button: str
    caution: str = ""


REPACK = Work(
    form=RepackForm,
    act=repack_lot,
    title="Repack",
    what="The new lot goes on from this one with its dates and analyses, and ages in its new "
    "packing from this day.",
    button="Record the repacking",
)
MILL = Work(
    form=MillForm,
    act=mill_lot,
    title="Mill",
    what="The crushed lot keeps no longer than its crushed life from this day.",
    button="Record the milling",
    caution="Grain dust can catch fire and harms the lungs, and rollers catch fingers: no flame, a "
    "mask, guards on; follow the manual of the mill and local codes.",
)
DECANT = Work(
    form=DecantForm,
    act=decant_lot,
    title="Decant",
    what="The new containers go on from this drum. What is left of the drum counts as opened from "
    "this day.",
    button="Record the decanting",
    caution="Clean containers by the label of the cleaner, and never mix cleaners. Drums are "
    "heavy, and spilt syrup is slippery: lift with help.",
)


@page(Right.WORK_ON_LOT, methods=("GET", "POST"))
def lot_repack(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Put some of a lot into other bags."""
    return _worked(request, lot_id, REPACK)


@page(Right.WORK_ON_LOT, methods=("GET", "POST"))
def lot_mill(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Mill some of a lot of grain."""
    return _worked(request, lot_id, MILL)


@page(Right.WORK_ON_LOT, methods=("GET", "POST"))
def lot_decant(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Fill some of a drum into smaller containers."""
    return _worked(request, lot_id, DECANT)


def usual_loss(item_id: int) -> str:
    """Return the sentence that says what work on an item usually loses."""
    loss = Item.objects.values_list("work_loss", flat=True).get(pk=item_id)
    return f"Usually {share(loss)} is lost." if loss else "Usually nothing is lost."


def _worked(request: SignedInRequest, lot_id: int, work: Work) -> HttpResponse:
    lot = found_lot(lot_id)
    if request.method != "POST":
        check_fits(work.form.kind, Lot.objects.select_related("item").get(pk=lot_id))
        if not lot.held:
            raise used_up(lot)
    form = work.form(lot, request.user, request.POST if request.method == "POST" else None)
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def act() -> dict[str, Any]:
            made = work.act(by=request.user, key=key_of(request), **form.facts())
            return {"work": made.pk, "code": made.code}

        done = submitted(request, form, act)
        if done.answer is not None:
            messages.success(request, f"Work {done.answer['code']} is done.")
            return onward(request, "conversion-detail", done.answer["work"])
        status = done.status
    context = {"lot": lot, "work": work, "form": form, "loss": usual_loss(lot.item_id)}
    return render(request, "inventory/conversion_form.html", context, status=status)


def _code(label: str, initial: str, *, required: bool = True) -> forms.CharField:
    return forms.CharField(label=label, max_length=CODE_LENGTH, initial=initial, required=required)
