"""Offering a revision or a kit of it, and retiring a revision, once that is confirmed."""

from __future__ import annotations

from collections.abc import Callable
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
from recipes.models import Kit, Revision
from recipes.services.kits import offer_kit
from recipes.services.offering import offer_revision, retire_revision


class OfferForm(forms.Form):
    """The version a person looked at before offering."""

    version = forms.IntegerField(widget=forms.HiddenInput)


@page(Right.OFFER_REVISION, methods=("GET", "POST"))
def revision_offer(request: SignedInRequest, revision_id: int) -> HttpResponse:
    """Freeze a revision and offer it."""
    revision = get_object_or_404(Revision.objects.select_related("recipe"), pk=revision_id)
    words = {
        "thing": str(revision),
        "back": reverse("recipe-revision", args=[revision.recipe.code, revision.number]),
        "title": "Offer the revision",
        "what": "Its methods, yeasts and figures are frozen for good, and kits of it can be "
        "offered. This cannot be undone; a later change is a new revision.",
        "button": "Freeze and offer it",
        "done": "is offered",
    }

    def act(expected: int) -> None:
        offer_revision(by=request.user, revision=revision, expected=expected)

    return _offered(request, revision.version, words, act)


@page(Right.OFFER_REVISION, methods=("GET", "POST"))
def revision_retire(request: SignedInRequest, revision_id: int) -> HttpResponse:
    """Take an offered revision out of use."""
    revision = get_object_or_404(Revision.objects.select_related("recipe"), pk=revision_id)
    words = {
        "thing": str(revision),
        "back": reverse("recipe-revision", args=[revision.recipe.code, revision.number]),
        "title": "Retire the revision",
        "what": "No new kit of it is offered any more. It stays as it was for the kits that were "
        "packed. This cannot be undone.",
        "button": "Retire it",
        "done": "is retired",
    }

    def act(expected: int) -> None:
        retire_revision(by=request.user, revision=revision, expected=expected)

    return _offered(request, revision.version, words, act)


@page(Right.OFFER_REVISION, methods=("GET", "POST"))
def kit_offer(request: SignedInRequest, kit_id: int) -> HttpResponse:
    """Freeze a kit's bill and offer it."""
    kit = get_object_or_404(Kit.objects.select_related("item", "method__revision"), pk=kit_id)
    words = {
        "thing": str(kit),
        "back": reverse("kit-detail", args=[kit.item.code]),
        "title": "Offer the kit",
        "what": "Its bill of materials, figures and target bitterness are frozen for good, and "
        "runs can pack it. This cannot be undone; price, shelf allowance, and when and how many "
        "are packed may still change.",
        "button": "Freeze and offer it",
        "done": "is offered",
    }

    def act(expected: int) -> None:
        offer_kit(by=request.user, kit=kit, expected=expected)

    return _offered(request, kit.version, words, act)


def _offered(
    request: SignedInRequest, version: int, words: dict[str, str], act: Callable[[int], None]
) -> HttpResponse:
    if request.method != "POST":
        return _asked(request, words, OfferForm(initial={"version": version}))
    form = OfferForm(request.POST)

    def work() -> dict[str, Any]:
        act(form.cleaned_data["version"])
        return {words["done"]: words["thing"]}

    done = submitted(request, form, work)
    if done.answer is None:
        return _asked(request, words, form, status=done.status)
    messages.success(request, f"{words['thing']} {words['done']}.")
    return onward(request, words["back"])


def _asked(
    request: SignedInRequest,
    words: dict[str, str],
    form: OfferForm,
    *,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    return render(request, "web/act.html", {**words, "form": form}, status=status)
