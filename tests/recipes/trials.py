"""Makers of trial batches for tests: the pale ale of ``make``, brewed and measured."""

from __future__ import annotations

from datetime import date
from typing import Any

from boxwort.quantities import UL_PER_L
from recipes.brewing.roles import MethodKind
from recipes.models import Method, Revision, TrialBatch
from recipes.queries.contents import method_content, methods_in_full
from recipes.queries.figures import method_figures
from recipes.services.trials import record_trial
from tests.recipes.make import developer

BREWED_ON = date(2026, 3, 2)


def method_of(revision: Revision, kind: MethodKind = MethodKind.ALL_GRAIN) -> Method:
    return revision.methods.select_related("revision__recipe").get(kind=kind)


def recorded(method: Method, code: str = "TRIAL-1", **facts: Any) -> TrialBatch:
    """Record a trial that came out as predicted, unless said otherwise."""
    predicted = method_figures(method.pk)
    known: dict[str, Any] = {
        "brewed_on": BREWED_ON,
        "measured_og": predicted.og.value,
        "measured_fg": predicted.fg.value,
        "measured_volume": method.finished_volume,
    }
    return record_trial(by=developer(), method=method, code=code, **(known | facts))


def weak_og(method: Method, share: float) -> float:
    """Return the gravity of a brew whose wort holds this share of the extract predicted."""
    return 1 + (method_figures(method.pk).og.value - 1) * share


def quantities(method: Method) -> dict[str, list[int]]:
    """Return the amounts of a method by item, in the order of its lines."""
    found: dict[str, list[int]] = {}
    for line in method_content(methods_in_full().get(pk=method.pk))["lines"]:
        found.setdefault(line["item"], []).append(line["quantity"])
    return found


def litres(amount: float) -> int:
    return round(amount * UL_PER_L)
