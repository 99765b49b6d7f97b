"""Writing a recipe: begin one, change what is said of it, and start its next revision."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from inventory.models.codes import CODE_LENGTH
from recipes.models import Recipe
from recipes.queries.choices import style_names
from recipes.services.recipes import begin_recipe, start_revision, write_recipe


class RecipeForm(forms.Form):
    """What is said of a recipe."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    code = forms.CharField(
        label="Code",
        max_length=CODE_LENGTH,
        help_text="Capitals, digits and hyphens; it stays for good.",
    )
    name = forms.CharField(label="Name", max_length=120)
    style = forms.CharField(
        label="Style",
        max_length=80,
        required=False,
        help_text="Choose a style that is known, or write any other.",
        widget=forms.TextInput(attrs={"list": "styles", "autocomplete": "off"}),
    )
    notes = forms.CharField(
        label="Notes", max_length=400, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def clean_code(self) -> str:
        """Return the code in capitals."""
        return str(self.cleaned_data["code"]).upper()


class RevisionForm(forms.Form):
    """Why a revision is started."""

    reason = forms.CharField(
        label="Why a new revision",
        max_length=200,
        help_text="What shall become different; others read it beside the revision.",
    )


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def recipe_new(request: SignedInRequest) -> HttpResponse:
    """Begin a recipe with its first draft."""
    form = RecipeForm(request.POST if request.method == "POST" else None)

    def work() -> dict[str, Any]:
        revision = begin_recipe(by=request.user, **_said(form))
        return {"code": revision.recipe.code}

    return _written(request, form, work, None)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def recipe_edit(request: SignedInRequest, code: str) -> HttpResponse:
    """Change what is said of a recipe; its code and revisions stay."""
    recipe = get_object_or_404(Recipe, code=code)
    names = ("version", "code", "name", "style", "notes")
    standing = {name: getattr(recipe, name) for name in names}
    form = RecipeForm(request.POST if request.method == "POST" else None, initial=standing)
    form.fields["code"].disabled = True

    def work() -> dict[str, Any]:
        expected = form.cleaned_data["version"]
        changed = write_recipe(by=request.user, **_said(form), expected=expected)
        return {"code": changed.code}

    return _written(request, form, work, recipe)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def revision_start(request: SignedInRequest, code: str) -> HttpResponse:
    """Start the next revision of a recipe, a copy of the newest, for a reason."""
    recipe = get_object_or_404(Recipe, code=code)
    form = RevisionForm(request.POST if request.method == "POST" else None)
    status: int = HTTPStatus.OK
    if request.method == "POST":

        def work() -> dict[str, Any]:
            reason = form.cleaned_data["reason"]
            revision = start_revision(by=request.user, recipe=recipe, reason=reason)
            return {"number": revision.number}

        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, "It begins as a copy; change its methods here.")
            return onward(request, "recipe-revision", recipe.code, done.answer["number"])
        status = done.status
    context = {
        "thing": str(recipe),
        "back": reverse("recipe-detail", args=[recipe.code]),
        "title": "Start a new revision",
        "what": "The new revision is a draft with the methods, yeasts and substitutes of the "
        "newest one. What is offered stays as it is, and its kits are packed as before.",
        "button": "Start it",
        "form": form,
    }
    return render(request, "web/act.html", context, status=status)


def _said(form: RecipeForm) -> dict[str, str]:
    return {name: form.cleaned_data[name] for name in ("code", "name", "style", "notes")}


def _written(
    request: SignedInRequest, form: RecipeForm, work: Any, recipe: Recipe | None
) -> HttpResponse:
    status: int = HTTPStatus.OK
    if request.method == "POST":
        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, "The recipe is saved.")
            return onward(request, "recipe-detail", done.answer["code"])
        status = done.status
    context = {"form": form, "recipe": recipe, "styles": style_names()}
    return render(request, "recipes/recipe_edit.html", context, status=status)
