"""Boxes that several forms of the stock room share: places, amounts, days that have come."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, Any

from django import forms
from django.core.exceptions import ValidationError
from django.utils import timezone

from boxwort import figures
from boxwort.accounts.models import User
from boxwort.quantities import UNITS, Measure, read_naturally
from boxwort.web.amounts import AmountField
from boxwort.web.days import DayInput
from inventory.models import Place
from inventory.queries.lots import LotRow
from inventory.queries.places import stores

if TYPE_CHECKING:  # the stubs know what is chosen from; the class itself takes no argument
    PlaceChoice = forms.ModelChoiceField[Place]
else:
    PlaceChoice = forms.ModelChoiceField

REASON_LENGTH = 200


def not_to_come(day: date) -> None:
    """Refuse a day after today: what is written down has happened."""
    if day > timezone.localdate():
        msg = "This day has not come yet. Write the day it happened."
        raise ValidationError(msg)


class PastDayField(forms.DateField):
    """A day up to today, in the site's time zone."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(widget=DayInput, validators=[not_to_come], **kwargs)


class StoreField(PlaceChoice):
    """A storage place, named with how warm it is today in the degrees of a person."""

    def __init__(self, person: User, **kwargs: Any) -> None:
        super().__init__(stores(timezone.localdate()), **kwargs)
        self.person = person

    def label_from_instance(self, obj: Any) -> str:
        """Name the place, and how warm it is where that is known."""
        place: Place = obj
        celsius: float | None = getattr(place, "temperature_c", None)
        if celsius is None:
            return f"{place.name} (temperature not known)"
        return f"{place.name} ({figures.temperature(celsius, self.person.units)})"


class HeldField(PlaceChoice):
    """One of the storage places in which some of a lot lies.

    Those are offered; any storage place is read, so that a form that is sent again after it took
    all that lay there is still the same request.
    """

    def __init__(self, lot: LotRow, person: User, **kwargs: Any) -> None:
        super().__init__(stores(timezone.localdate()), **kwargs)
        measure = Measure(lot.measure)
        self.widget.choices = [
            (
                held.place_id,
                f"{held.place_name}: {read_naturally(held.quantity, measure, person.units)}",
            )
            for held in lot.held
        ]


def add_amount(form: forms.Form, name: str, label: str, measure: str, unit: str) -> None:
    """Add a box for an amount in a unit; another unit may be written after the number.

    The unit shown goes with the form: the number means what it said on the page, whatever the
    stock or the person's settings have become since.
    """
    known = [found.symbol for found in UNITS.values() if found.measure == measure]
    shown = str(form.data.get("unit", ""))
    unit = shown if shown in known else unit
    form.fields["unit"] = forms.CharField(widget=forms.HiddenInput, required=False, initial=unit)
    form.fields[name] = AmountField(
        measure=Measure(measure),
        unit=unit,
        label=f"{label}, in {'pieces' if measure == Measure.COUNT else unit}",
        help_text=f"Another unit may follow the number: {', '.join(known)}." if known[1:] else "",
    )


def reason_field(label: str, *, required: bool = True) -> forms.CharField:
    """Return a box for why something was done."""
    return forms.CharField(label=label, max_length=REASON_LENGTH, required=required)
