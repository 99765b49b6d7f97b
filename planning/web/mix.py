"""The mix: which kits to pack when something is short."""

from __future__ import annotations

from datetime import timedelta
from http import HTTPStatus
from typing import Any

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, page
from planning.queries.mix import mix_page

WEEKS = 4
MOST_DAYS = 366


class MixForm(forms.Form):
    """Until when kits are wanted."""

    until = forms.DateField(label="Kits wanted until", widget=DayInput, required=False)

    def clean_until(self) -> Any:
        """Return the day; without one, four weeks from today."""
        today, until = timezone.localdate(), self.cleaned_data["until"]
        if until is None:
            return today + timedelta(weeks=WEEKS)
        if not today <= until <= today + timedelta(days=MOST_DAYS):
            msg = f"Choose a day from today to {MOST_DAYS} days from now."
            raise forms.ValidationError(msg)
        return until


@page(Right.READ)
def mix(request: SignedInRequest) -> HttpResponse:
    """Show the mix that serves firm orders first and earns the most."""
    today = timezone.localdate()
    form = MixForm(request.GET or None, initial={"until": today + timedelta(weeks=WEEKS)})
    status, until = HTTPStatus.OK, today + timedelta(weeks=WEEKS)
    if form.is_bound:
        if form.is_valid():
            until = form.cleaned_data["until"]
        else:
            status = HTTPStatus.UNPROCESSABLE_ENTITY
    found = mix_page(today, until) if status == HTTPStatus.OK else None
    return render(request, "planning/mix.html", {"form": form, "found": found}, status=status)
