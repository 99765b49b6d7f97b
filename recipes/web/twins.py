"""The twin of a method as the converter drafts it: looked at first, then taken over."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.errors import Refusal
from boxwort.quantities import Measure, read_naturally
from boxwort.roles import Right
from boxwort.web.amounts import AmountField
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from recipes.models import Method
from recipes.queries.twin_drafts import TwinDraft, twin_draft, usual_volumes
from recipes.services.twins import draft_twin
from recipes.services.typed import go_on_typing
from recipes.web.drafts import found_draft


class TwinForm(forms.Form):
    """What the twin is boiled in, and whether its brewer mashes."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    mash = forms.ChoiceField(
        label="What has no extract or syrup",
        choices=[("yes", "Into a small mash"), ("no", "A stand-in; body differs")],
        help_text="Flaked oats, barley and wheat cannot be steeped.",
    )

    def __init__(self, system: str, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        unit = "US gal" if system == "us" else "L"
        for name, label in (
            ("pre_boil_volume", "In the twin's kettle before the boil"),
            ("post_boil_volume", "And after the boil"),
        ):
            label = f"{label}, {unit}"
            self.fields[name] = AmountField(measure=Measure.VOLUME, unit=unit, label=label)
        self.order_fields(("version", "pre_boil_volume", "post_boil_volume", "mash"))

    def asked(self) -> dict[str, Any]:
        """Return what is asked of the converter."""
        typed = self.cleaned_data
        return {
            "pre_boil_volume": typed["pre_boil_volume"],
            "post_boil_volume": typed["post_boil_volume"],
            "partial_mash": typed["mash"] == "yes",
        }


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def twin_drafted(request: SignedInRequest, method_id: int) -> HttpResponse:
    """Show the drafted twin with its reasons and warnings; take it over when a person says so."""
    found = Method.objects.select_related("revision__recipe")
    method = get_object_or_404(found, pk=method_id)
    found_draft(method.revision_id)
    if request.method != "POST":
        form = TwinForm(request.user.units, {**_usual(request, method), **request.GET.dict()})
        return _shown(request, method, form)
    form = TwinForm(request.user.units, request.POST)

    def work() -> dict[str, Any]:
        expected = form.cleaned_data["version"]
        twin = draft_twin(by=request.user, method=method, expected=expected, **form.asked())
        go_on_typing(by=request.user, revision=method.revision, before=expected)
        return {"kind": twin.kind}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, method, form, status=done.status)
    messages.success(request, "The drafted twin is written. Look it over and change what you like.")
    return onward(request, "method-edit", method.revision_id, done.answer["kind"])


def _usual(request: SignedInRequest, method: Method) -> dict[str, str]:
    before, after = (
        read_naturally(volume, Measure.VOLUME, request.user.units)
        for volume in usual_volumes(method)
    )
    return {
        "version": str(method.revision.version),
        "pre_boil_volume": before,
        "post_boil_volume": after,
        "mash": "yes",
    }


def _shown(
    request: SignedInRequest, method: Method, form: TwinForm, status: int = HTTPStatus.OK
) -> HttpResponse:
    draft: TwinDraft | None = None
    if form.is_valid():
        try:
            draft = twin_draft(method.pk, **form.asked())
        except Refusal as refusal:
            form.add_error(None, f"{refusal.what} {refusal.remedy}")
            status = max(status, HTTPStatus.UNPROCESSABLE_ENTITY)
    elif status == HTTPStatus.OK:
        status = HTTPStatus.UNPROCESSABLE_ENTITY
    context = {
        "method": method,
        "revision": method.revision,
        "recipe": method.revision.recipe,
        "form": form,
        "draft": draft,
    }
    return render(request, "recipes/twin_draft.html", context, status=status)
