"""Days off of the house: added and taken away on the page of its settings."""

from __future__ import annotations

from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse

from boxwort.accounts.days_off import LONGEST_NAME, add_day_off, remove_day_off
from boxwort.accounts.models import DayOff
from boxwort.figures import on_date
from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.kept import Words, kept

_THING = "House settings"


class DayOffForm(forms.Form):
    """A day, and what it is called."""

    on = forms.DateField(label="Day", widget=DayInput)
    name = forms.CharField(label="Name", max_length=LONGEST_NAME, required=False)


@page(Right.KEEP_HOUSE, methods=("GET", "POST"))
def day_off_new(request: SignedInRequest) -> HttpResponse:
    """Note a day off."""

    def write(form: DayOffForm) -> dict[str, Any]:
        return {"day": add_day_off(by=request.user, **form.cleaned_data).pk}

    words = Words(
        title="A day off",
        thing=_THING,
        back=reverse("house-settings"),
        what="Nothing is packed on it, no delivery is taken in, and it is no working day of a lead "
        "time.",
        button="Keep the day",
        said="The day off is kept.",
    )
    return kept(request, DayOffForm, write, words)


@page(Right.KEEP_HOUSE, methods=("GET", "POST"))
def day_off_remove(request: SignedInRequest, day_id: int) -> HttpResponse:
    """Take a day off away."""
    day = get_object_or_404(DayOff, pk=day_id)

    def write(_: forms.Form) -> dict[str, Any]:
        remove_day_off(by=request.user, day=day)
        return {"on": day.on}

    words = Words(
        title=f"Work on {on_date(day.on)}",
        thing=_THING,
        back=reverse("house-settings"),
        what=f"{day.name or 'That day'} is no day off any more.",
        button="Work on that day",
        said="The day off is taken away.",
    )
    return kept(request, forms.Form, write, words)
