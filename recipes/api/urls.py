"""Addresses of the recipe room's API."""

from __future__ import annotations

from django.urls import path

from recipes.api.kits import KitBill, KitInFull, Kits
from recipes.api.recipes import RecipeInFull, Recipes

urlpatterns = [
    path("recipes/", Recipes.as_view(), name="api-recipe-list"),
    path("recipes/<slug:code>/", RecipeInFull.as_view(), name="api-recipe-detail"),
    path("kits/", Kits.as_view(), name="api-kit-list"),
    path("kits/<slug:code>/", KitInFull.as_view(), name="api-kit-detail"),
    path("kits/<slug:code>/bill/", KitBill.as_view(), name="api-kit-bill"),
]
