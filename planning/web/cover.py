"""How long stock lasts, and which lots are at risk."""

from __future__ import annotations

from django import forms
from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from planning.queries.cover import cover


class CoverFilter(forms.Form):
    """Which items a person looks for."""

    value_class = forms.ChoiceField(
        label="Class",
        required=False,
        choices=[("", "All"), ("A", "A"), ("B", "B"), ("C", "C")],
    )
    short = forms.BooleanField(label="Only what is short", required=False)


@page(Right.READ)
def cover_list(request: SignedInRequest) -> HttpResponse:
    """Show the cover of every planned item by week, and the lots at risk."""
    form = CoverFilter(request.GET)
    asked = form.cleaned_data if form.is_valid() else {}
    found = cover(timezone.localdate())
    rows = [
        row
        for row in found.rows
        if (not asked.get("value_class") or row.value_class == asked["value_class"])
        and (not asked.get("short") or row.short_on)
    ]
    context = {"cover": found, "rows": rows, "form": form}
    return render(request, "planning/cover_list.html", context)
