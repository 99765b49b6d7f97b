"""Recipes over the API."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from boxwort.web.operations_api import Listing, Reading
from recipes.api.shapes import RecipeDetailSerializer, RecipeSerializer
from recipes.queries.recipes import RecipeDetail, RecipeRow, recipe_detail, recipe_rows


class RevisionAsked(serializers.Serializer[Any]):
    """Which revision of a recipe."""

    revision = serializers.IntegerField(
        required=False, min_value=1, help_text="Its number; else the offered or newest one."
    )


class Recipes(Listing):
    """List recipes with their revisions, by code."""

    answer = RecipeSerializer

    def rows(self, **asked: Any) -> Sequence[RecipeRow]:
        return recipe_rows()


class RecipeInFull(Reading):
    """Return one recipe with the methods of a revision and their figures."""

    query = RevisionAsked
    answer = RecipeDetailSerializer

    def found(self, **asked: Any) -> RecipeDetail:
        return recipe_detail(asked["code"], asked.get("revision"))
