"""Revisions over the API: started, offered and retired."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django.http import Http404
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, VersionAsked
from inventory.services.entries import REASON_LENGTH
from recipes.api.shapes import RecipeDetailSerializer
from recipes.models import Recipe, Revision
from recipes.queries.recipes import RecipeDetail, recipe_detail
from recipes.services.offering import offer_revision, retire_revision
from recipes.services.recipes import start_revision


class ReasonAsked(serializers.Serializer[Any]):
    """Why a revision is started."""

    reason = serializers.CharField(max_length=REASON_LENGTH)


class RevisionStart(Act):
    """Start the next revision of a recipe, a draft that is a copy of the newest."""

    right = Right.WRITE_RECIPE
    name = "start_revision"
    body = ReasonAsked
    result = RecipeDetailSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> RecipeDetail:
        """Start the next revision of a recipe, a draft that is a copy of the newest."""
        recipe = Recipe.objects.filter(code=asked["code"]).first()
        if recipe is None:
            raise Http404
        revision = start_revision(by=by, recipe=recipe, reason=asked["reason"])
        return recipe_detail(recipe.code, revision.number)


class _RevisionAct(Act):
    """An act on one revision, of the version that the caller read."""

    right = Right.OFFER_REVISION
    body = VersionAsked
    result = RecipeDetailSerializer

    def revision(self, code: str, number: int) -> Revision:
        """Return the revision, or answer that there is none."""
        found = Revision.objects.select_related("recipe").filter(recipe__code=code, number=number)
        revision = found.first()
        if revision is None:
            raise Http404
        return revision


class RevisionOffer(_RevisionAct):
    """Freeze a revision and offer it."""

    name = "offer_revision"

    def done(self, by: User, **asked: Any) -> RecipeDetail:
        """Freeze a revision and offer it."""
        revision = self.revision(asked["code"], asked["number"])
        offer_revision(by=by, revision=revision, expected=asked["version"])
        return recipe_detail(asked["code"], asked["number"])


class RevisionRetire(_RevisionAct):
    """Take an offered revision out of use."""

    name = "retire_revision"

    def done(self, by: User, **asked: Any) -> RecipeDetail:
        """Take an offered revision out of use."""
        revision = self.revision(asked["code"], asked["number"])
        retire_revision(by=by, revision=revision, expected=asked["version"])
        return recipe_detail(asked["code"], asked["number"])
