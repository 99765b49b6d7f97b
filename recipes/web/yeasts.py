"""Writing which yeasts a draft may be pitched with; the first is the usual one."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from inventory.models import Item
from recipes.models import Revision
from recipes.queries.choices import choices_of, items_for_yeast
from recipes.services.methods import write_yeasts
from recipes.services.typed import go_on_typing
from recipes.web.drafts import found_draft
from recipes.web.fields import ItemField

LEAST_BOXES = 3


class YeastsForm(forms.Form):
    """The yeasts in their order; a box may be left empty."""

    version = forms.IntegerField(widget=forms.HiddenInput)

    def __init__(self, yeasts: list[Item], standing: list[Item], *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for place in range(1, max(LEAST_BOXES, len(standing) + 1) + 1):
            label = "Usual yeast" if place == 1 else f"Or, {place}"
            box = ItemField(yeasts, label=label, required=False)
            if place <= len(standing):
                box.initial = str(standing[place - 1])
            self.fields[f"yeast-{place}"] = box

    @property
    def items(self) -> list[Item]:
        """Return the yeasts that were named, in their order."""
        boxes = (name for name in self.fields if name.startswith("yeast-"))
        return [self.cleaned_data[name] for name in boxes if self.cleaned_data[name]]


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def yeasts_edit(request: SignedInRequest, revision_id: int) -> HttpResponse:
    """Write the yeast options of a draft."""
    revision = found_draft(revision_id)
    yeasts = items_for_yeast()
    form = YeastsForm(
        yeasts,
        _standing(revision),
        request.POST if request.method == "POST" else None,
        initial={"version": revision.version},
    )
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def work() -> dict[str, Any]:
            expected = form.cleaned_data["version"]
            write_yeasts(by=request.user, revision=revision, items=form.items, expected=expected)
            go_on_typing(by=request.user, revision=revision, before=expected)
            return {"yeasts": [item.code for item in form.items]}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, "The yeasts are saved.")
            return onward(request, "recipe-revision", revision.recipe.code, revision.number)
        status = done.status
    context = {
        "form": form,
        "revision": revision,
        "recipe": revision.recipe,
        "choices": choices_of(yeasts),
    }
    return render(request, "recipes/yeasts_edit.html", context, status=status)


def _standing(revision: Revision) -> list[Item]:
    options = revision.yeasts.select_related("item").order_by("position")
    return [option.item for option in options]
