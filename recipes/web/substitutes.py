"""The substitutes of a revision: what each makes of the beer, approving one, withdrawing one."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.numbers import MeasuredField
from boxwort.web.refusals import status_of
from boxwort.web.submitting import submitted
from boxwort.working import Working
from inventory.models import Item, ItemKind
from inventory.models.items import FERMENTABLE_KINDS
from recipes.models import Line, Revision, Substitute, YeastOption
from recipes.models.recipes import FROZEN_STATES
from recipes.queries.choices import choices_of, items_for_lines, items_for_yeast
from recipes.queries.substitutes import places_for, substitute_rows, suggested_weight
from recipes.services.substitutes import (
    approve_substitute,
    refuse_unlike,
    revision_of,
    withdraw_substitute,
)
from recipes.services.typed import go_on_typing
from recipes.web.drafts import found_draft
from recipes.web.fields import ItemField


class SubstituteForm(forms.Form):
    """What stands for what, and in which weight."""

    version = forms.IntegerField(widget=forms.HiddenInput)
    stands_for = forms.ChoiceField(label="In the place of")
    ratio = MeasuredField(
        label="Weight for a weight of 1",
        required=False,
        help_text="Empty: the suggested weight. Hops that hold bitterness or take the difference "
        "are solved by their alpha acid whatever it says; packs of yeast are counted anew.",
    )
    note = forms.CharField(label="Note", max_length=120, required=False)
    field_order = ("version", "stands_for", "item", "ratio", "note")

    def __init__(
        self, places: dict[str, tuple[str, Line | YeastOption]], *args: Any, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.places = places
        self.items = [*items_for_lines(), *items_for_yeast()]
        self.fields["item"] = ItemField(self.items, label="May stand")
        self.fields["stands_for"] = forms.ChoiceField(
            label="In the place of", choices=[(key, label) for key, (label, _) in places.items()]
        )
        self.order_fields(self.field_order)

    @property
    def place(self) -> Line | YeastOption:
        """Return the line or yeast that was chosen."""
        return self.places[self.cleaned_data["stands_for"]][1]

    def suggested(self) -> Working | None:
        """Return the weight to begin from, with its working; None where there is none to give."""
        refuse_unlike(self.cleaned_data["item"], self.place.item)
        if isinstance(self.place, YeastOption) or not _counts(self.place.item):
            return None
        return suggested_weight(self.place, self.cleaned_data["item"])


@page(Right.READ)
def substitute_list(request: SignedInRequest, revision_id: int) -> HttpResponse:
    """List what is approved in place of what, and what the beer becomes with it."""
    revision = get_object_or_404(Revision.objects.select_related("recipe"), pk=revision_id)
    context = {
        "revision": revision,
        "recipe": revision.recipe,
        "rows": substitute_rows(revision.pk),
        "frozen": revision.state in FROZEN_STATES,
    }
    return render(request, "recipes/substitute_list.html", context)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def substitute_approve(request: SignedInRequest, revision_id: int) -> HttpResponse:
    """Approve a substitute; first, if asked, show the weight that the arithmetic suggests."""
    revision = found_draft(revision_id)
    form = SubstituteForm(
        places_for(revision.pk),
        request.POST if request.method == "POST" else None,
        initial={"version": revision.version, "stands_for": request.GET.get("for", "")},
    )
    if request.method != "POST":
        return _asked(request, revision, form)
    if request.POST.get("act") == "suggest":
        return _suggested(request, revision, form)

    def work() -> dict[str, Any]:
        typed = form.cleaned_data
        ratio = typed["ratio"]
        if ratio is None:
            suggestion = form.suggested()
            ratio = suggestion.value if suggestion else 1.0
        approve_substitute(
            by=request.user,
            stands_for=form.place,
            item=typed["item"],
            ratio=ratio,
            note=typed["note"],
            expected=typed["version"],
        )
        go_on_typing(by=request.user, revision=revision, before=typed["version"])
        return {"item": str(typed["item"])}

    done = submitted(request, form, work)
    if done.answer is None:
        return _asked(request, revision, form, status=done.status)
    messages.success(request, f"{done.answer['item']} is approved.")
    return onward(request, "substitute-list", revision.pk)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def substitute_withdraw(request: SignedInRequest, substitute_id: int) -> HttpResponse:
    """Withdraw a substitute of a draft, once that is confirmed."""
    found = Substitute.objects.select_related(
        "item", "line__item", "line__method__revision__recipe", "yeast__item"
    )
    substitute = get_object_or_404(
        found.select_related("yeast__revision__recipe", "approved_by"), pk=substitute_id
    )
    stands_for = substitute.line or substitute.yeast
    if stands_for is None:  # the database holds no such row
        raise Substitute.DoesNotExist
    revision = found_draft(revision_of(stands_for).pk)
    back = reverse("substitute-list", args=[revision.pk])
    form = VersionForm(
        request.POST if request.method == "POST" else None, initial={"version": revision.version}
    )
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def work() -> dict[str, Any]:
            expected = form.cleaned_data["version"]
            withdraw_substitute(by=request.user, substitute=substitute, expected=expected)
            go_on_typing(by=request.user, revision=revision, before=expected)
            return {"withdrawn": str(substitute.item)}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"{substitute.item} is withdrawn; it can be approved again.")
            return onward(request, back)
        status = done.status
    context = {
        "thing": f"Substitutes of {revision}",
        "back": back,
        "title": "Withdraw the substitute",
        "what": f"{substitute.item} may no longer stand for {stands_for.item}.",
        "button": "Withdraw it",
        "form": form,
    }
    return render(request, "web/act.html", context, status=status)


def _counts(item: Item) -> bool:
    """Return whether an item moves a figure of the beer."""
    return item.kind in (*FERMENTABLE_KINDS, ItemKind.HOP)


class VersionForm(forms.Form):
    """The version of the draft that a person looked at."""

    version = forms.IntegerField(widget=forms.HiddenInput)


def _suggested(request: SignedInRequest, revision: Revision, form: SubstituteForm) -> HttpResponse:
    if not form.is_valid():
        return _asked(request, revision, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        suggestion = form.suggested()
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return _asked(request, revision, form, status=status_of(refusal))
    return _asked(request, revision, form, suggestion=suggestion)


def _asked(
    request: SignedInRequest,
    revision: Revision,
    form: SubstituteForm,
    *,
    suggestion: Working | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {
        "form": form,
        "revision": revision,
        "recipe": revision.recipe,
        "choices": choices_of(form.items),
        "suggestion": suggestion,
    }
    return render(request, "recipes/substitute_approve.html", context, status=status)
