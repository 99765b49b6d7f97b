"""Addresses of the recipe room's API."""

from __future__ import annotations

from django.urls import path

from recipes.api.kits import KitBill, KitInFull, Kits
from recipes.api.recipes import RecipeInFull, Recipes
from recipes.api.revisions import RevisionOffer, RevisionRetire, RevisionStart
from recipes.api.trials import TrialAccept, TrialFinalGravity, TrialInFull, Trials
from recipes.api.workings import KitWorkings, RevisionWorkings

urlpatterns = [
    path("recipes/", Recipes.as_view(), name="api-recipe-list"),
    path("recipes/<slug:code>/", RecipeInFull.as_view(), name="api-recipe-detail"),
    path("recipes/<slug:code>/revisions/", RevisionStart.as_view(), name="api-revision-start"),
    path(
        "recipes/<slug:code>/revisions/<int:number>/offer/",
        RevisionOffer.as_view(),
        name="api-revision-offer",
    ),
    path(
        "recipes/<slug:code>/revisions/<int:number>/retire/",
        RevisionRetire.as_view(),
        name="api-revision-retire",
    ),
    path("trials/", Trials.as_view(), name="api-trial-list"),
    path("trials/<int:trial_id>/", TrialInFull.as_view(), name="api-trial-detail"),
    path(
        "trials/<int:trial_id>/final-gravity/",
        TrialFinalGravity.as_view(),
        name="api-trial-final-gravity",
    ),
    path("trials/<int:trial_id>/accept/", TrialAccept.as_view(), name="api-trial-accept"),
    path("kits/", Kits.as_view(), name="api-kit-list"),
    path("kits/<slug:code>/", KitInFull.as_view(), name="api-kit-detail"),
    path("kits/<slug:code>/bill/", KitBill.as_view(), name="api-kit-bill"),
    path("kits/<slug:code>/figures.pdf", KitWorkings.as_view(), name="api-kit-workings"),
    path(
        "recipes/<slug:code>/revisions/<int:number>/figures.pdf",
        RevisionWorkings.as_view(),
        name="api-revision-workings",
    ),
]
