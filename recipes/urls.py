"""Addresses of recipes."""

from __future__ import annotations

from django.urls import path

from recipes.web import kits, offering, recipes

urlpatterns = [
    path("recipes/", recipes.recipe_list, name="recipe-list"),
    path("recipes/<slug:code>/", recipes.recipe_detail, name="recipe-detail"),
    path(
        "recipes/<slug:code>/revisions/<int:number>/",
        recipes.recipe_detail,
        name="recipe-revision",
    ),
    path("revisions/<int:revision_id>/offer/", offering.revision_offer, name="revision-offer"),
    path("kits/", kits.kit_list, name="kit-list"),
    path("kits/<slug:code>/", kits.kit_detail, name="kit-detail"),
    path("kits/<int:kit_id>/offer/", offering.kit_offer, name="kit-offer"),
]
