"""Addresses of recipes."""

from __future__ import annotations

from django.urls import path

from recipes.web import (
    editing,
    kit_writing,
    kits,
    offering,
    recipes,
    scaling,
    styles,
    substitutes,
    trial_entries,
    trial_stock,
    trials,
    twins,
    workings,
    writing,
    yeasts,
)

urlpatterns = [
    path("recipes/", recipes.recipe_list, name="recipe-list"),
    path("recipes/new/", writing.recipe_new, name="recipe-new"),
    path("recipes/<slug:code>/", recipes.recipe_detail, name="recipe-detail"),
    path("recipes/<slug:code>/edit/", writing.recipe_edit, name="recipe-edit"),
    path("recipes/<slug:code>/revisions/new/", writing.revision_start, name="revision-start"),
    path(
        "recipes/<slug:code>/revisions/<int:number>/",
        recipes.recipe_detail,
        name="recipe-revision",
    ),
    path(
        "recipes/<slug:code>/revisions/<int:number>/figures.pdf",
        workings.revision_workings_paper,
        name="revision-workings-pdf",
    ),
    path(
        "revisions/<int:revision_id>/methods/<slug:kind>/",
        editing.method_edit,
        name="method-edit",
    ),
    path(
        "revisions/<int:revision_id>/methods/<slug:kind>/figures/",
        editing.method_figures,
        name="method-figures",
    ),
    path("revisions/<int:revision_id>/yeasts/", yeasts.yeasts_edit, name="yeasts-edit"),
    path(
        "revisions/<int:revision_id>/substitutes/",
        substitutes.substitute_list,
        name="substitute-list",
    ),
    path(
        "revisions/<int:revision_id>/substitutes/new/",
        substitutes.substitute_approve,
        name="substitute-approve",
    ),
    path(
        "substitutes/<int:substitute_id>/withdraw/",
        substitutes.substitute_withdraw,
        name="substitute-withdraw",
    ),
    path("methods/<int:method_id>/twin/", twins.twin_drafted, name="twin-draft"),
    path("methods/<int:method_id>/kits/new/", kit_writing.kit_new, name="kit-new"),
    path("kits/<int:kit_id>/edit/", kit_writing.kit_edit, name="kit-edit"),
    path("revisions/<int:revision_id>/retire/", offering.revision_retire, name="revision-retire"),
    path("revisions/<int:revision_id>/offer/", offering.revision_offer, name="revision-offer"),
    path("methods/<int:method_id>/scaling/", scaling.method_scaling, name="method-scaling"),
    path("methods/<int:method_id>/trials/new/", trial_entries.trial_record, name="trial-record"),
    path("recipes/<slug:code>/trials/", trials.trial_list, name="trial-list"),
    path("trials/<int:trial_id>/", trials.trial_detail, name="trial-detail"),
    path("trials/<int:trial_id>/accept/", trials.trial_accept, name="trial-accept"),
    path("trials/<int:trial_id>/correct/", trial_entries.trial_correct, name="trial-correct"),
    path(
        "trials/<int:trial_id>/final-gravity/",
        trial_entries.trial_final_gravity,
        name="trial-final-gravity",
    ),
    path(
        "trials/<int:trial_id>/stock/take/", trial_stock.trial_stock_take, name="trial-stock-take"
    ),
    path(
        "trials/<int:trial_id>/stock/back/", trial_stock.trial_stock_back, name="trial-stock-back"
    ),
    path("styles/", styles.style_list, name="style-list"),
    path("kits/", kits.kit_list, name="kit-list"),
    path("kits/<slug:code>/", kits.kit_detail, name="kit-detail"),
    path("kits/<slug:code>/figures.pdf", workings.kit_workings_paper, name="kit-workings-pdf"),
    path("kits/<int:kit_id>/offer/", offering.kit_offer, name="kit-offer"),
]
