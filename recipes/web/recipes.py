"""The pages that show recipes: the list, and one revision with its methods side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.paging import page_of
from recipes.brewing.roles import Use
from recipes.models import Recipe, Revision
from recipes.models.methods import METHOD_CHOICES
from recipes.models.recipes import FROZEN_STATES
from recipes.queries.brew_day import BrewDay, method_brew_days
from recipes.queries.differences import differences
from recipes.queries.kits import kit_rows
from recipes.queries.recipes import LineRow, MethodRow, recipe_rows
from recipes.queries.recipes import recipe_detail as recipe_in_detail
from recipes.queries.typed import kinds_typed

_ORDER = {use.value: position for position, use in enumerate(Use)}


@dataclass(frozen=True)
class MethodColumn:
    """A method as a column: its lines in the order of the brew day, and its figures."""

    row: MethodRow
    lines: list[LineRow]
    day: BrewDay


@page(Right.READ)
def recipe_list(request: SignedInRequest) -> HttpResponse:
    """List the recipes with the revision that is offered and the newest one."""
    return render(request, "recipes/recipe_list.html", {"page": page_of(request, recipe_rows())})


@page(Right.READ)
def recipe_detail(request: SignedInRequest, code: str, number: int | None = None) -> HttpResponse:
    """Show a recipe by one of its revisions: the numbered, else the offered, else the newest."""
    try:
        detail = recipe_in_detail(code, number)
    except (Recipe.DoesNotExist, Revision.DoesNotExist) as missing:
        raise Http404 from missing
    chosen = detail.revision
    days = method_brew_days(method.id for method in detail.methods)
    context: dict[str, Any] = {
        "recipe": detail.recipe,
        "revision": chosen,
        "methods": [_column(method, days[method.id]) for method in detail.methods],
        "yeasts": detail.yeasts,
        "obstacles": detail.obstacles,
        "frozen": chosen is not None and chosen.state in FROZEN_STATES,
        "kits": kit_rows(recipe_code=code),
        "warnings": detail.warnings,
        "twins": detail.twins,
        "typed": kinds_typed(chosen.id, request.user) if chosen else [],
        "to_begin": _missing(detail.methods),
    }
    if chosen:
        before, rows = differences(chosen.id, request.user.units)
        context |= {"before_number": before, "differences": rows}
    return render(request, "recipes/recipe_detail.html", context)


def _missing(methods: Sequence[MethodRow]) -> list[tuple[str, str]]:
    """Return the ways to brew that the revision has no method of, each with its name."""
    there = {method.kind for method in methods}
    return [(kind, str(label)) for kind, label in METHOD_CHOICES if kind not in there]


def _column(method: MethodRow, day: BrewDay) -> MethodColumn:
    lines = sorted(method.lines, key=lambda row: (_ORDER[row.use], -row.minutes, row.position))
    return MethodColumn(method, lines, day)
