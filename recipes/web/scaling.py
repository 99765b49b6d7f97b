"""The page of a method at another size, and of any number of kits of it."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.http import Http404, HttpResponse
from django.shortcuts import render

from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, typed_amount
from boxwort.web.doors import SignedInRequest, page
from recipes.models import MOST_KITS, Method
from recipes.queries.scaling import ScaledMethod, Scaling, scaled_method, scaling


class ScalingForm(forms.Form):
    """The size that is wanted, in any unit, and how many kits of it."""

    volume = AmountField(measure=Measure.VOLUME, unit="L", label="Size, in L or with its unit")
    kits = forms.IntegerField(label="Kits", min_value=1, max_value=MOST_KITS, initial=1)


@page(Right.READ)
def method_scaling(request: SignedInRequest, method_id: int) -> HttpResponse:
    """Show a method at another size: amounts exact and packed, reasons, and figures."""
    try:
        method = scaled_method(method_id)
    except Method.DoesNotExist as missing:
        raise Http404 from missing
    amount, unit = typed_amount(method.volume, Measure.VOLUME, request.user.units)
    as_written = {"volume": f"{amount} {unit}", "kits": "1"}
    form = ScalingForm({**as_written, **request.GET.dict()})
    found = _scaled(form, method)
    status = HTTPStatus.OK if found or not request.GET else HTTPStatus.UNPROCESSABLE_ENTITY
    context: dict[str, Any] = {"method": method, "form": form, "scaling": found}
    return render(request, "recipes/scaling.html", context, status=status)


def _scaled(form: ScalingForm, method: ScaledMethod) -> Scaling | None:
    if not form.is_valid():
        return None
    try:
        return scaling(method, form.cleaned_data["volume"], form.cleaned_data["kits"])
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return None
