"""Recipes over the API."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, Listing, Reading
from inventory.models.codes import CODE_LENGTH
from recipes.api.shapes import RecipeDetailSerializer, RecipeSerializer
from recipes.queries.recipes import RecipeDetail, RecipeRow, recipe_detail, recipe_rows
from recipes.services.recipes import begin_recipe


class RevisionAsked(serializers.Serializer[Any]):
    """Which revision of a recipe."""

    revision = serializers.IntegerField(
        required=False, min_value=1, help_text="Its number; else the offered or newest one."
    )


class RecipeAsked(serializers.Serializer[Any]):
    """What is said of a recipe; the style is any words, best the name of one that is known."""

    code = serializers.CharField(max_length=CODE_LENGTH)
    name = serializers.CharField(max_length=120)
    style = serializers.CharField(  # type: ignore[assignment]  # of the beer, not of the field
        max_length=80, required=False, allow_blank=True
    )
    notes = serializers.CharField(max_length=400, required=False, allow_blank=True)


class Recipes(Listing, Act):
    """List recipes with their revisions, by code."""

    answer = RecipeSerializer
    rights_by_method = {"POST": Right.WRITE_RECIPE}
    name = "begin_recipe"
    body = RecipeAsked
    result = RecipeDetailSerializer
    success = HTTPStatus.CREATED

    def rows(self, **asked: Any) -> Sequence[RecipeRow]:
        return recipe_rows()

    def done(self, by: User, **asked: Any) -> RecipeDetail:
        """Write a new recipe, and start its first draft."""
        revision = begin_recipe(by=by, **asked)
        return recipe_detail(revision.recipe.code, revision.number)


class RecipeInFull(Reading):
    """Return one recipe with the methods of a revision and their figures."""

    query = RevisionAsked
    answer = RecipeDetailSerializer

    def found(self, **asked: Any) -> RecipeDetail:
        return recipe_detail(asked["code"], asked.get("revision"))
