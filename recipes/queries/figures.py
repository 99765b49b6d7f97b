"""Figures of methods: from live specifications while a draft, as kept once offered."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import fields
from typing import Any

from boxwort.errors import Refusal
from boxwort.working import Working
from recipes.brewing.figures import Brew, Figures, figures
from recipes.models import Method
from recipes.queries.contents import brew_of, method_content, methods_in_full


def method_figures(method_id: int) -> Figures:
    """Return the figures of a method with their working.

    Raises
    ------
    Method.DoesNotExist: there is no such method.
    Refusal: the draft's figures cannot be computed; it says why.
    """
    return figures_of(methods_in_full().get(pk=method_id))


def figures_of(method: Method) -> Figures:
    """Return the figures of a method read by ``methods_in_full``."""
    if method.frozen:
        return kept_figures(method.frozen["figures"])
    return computed(brew_of(method_content(method)))


def computed(brew: Brew) -> Figures:
    """Return the figures of a brew; what cannot be brewed is refused in the brewer's words."""
    try:
        return figures(brew)
    except ValueError as problem:
        raise Refusal(
            "figures-impossible",
            f"The figures cannot be computed: {problem}.",
            "Correct what the sentence names in the method or in the catalogue.",
        ) from problem


def plain_figures(result: Figures) -> dict[str, Any]:
    """Return figures as plain JSON: a working under each name, or None."""
    workings = {field.name: getattr(result, field.name) for field in fields(Figures)}
    return {name: found and found.as_json() for name, found in workings.items()}


def kept_figures(stored: Mapping[str, Any]) -> Figures:
    """Return figures as they were stored by :func:`plain_figures`."""
    kept: dict[str, Any] = {
        field.name: stored[field.name] and Working.from_json(stored[field.name])
        for field in fields(Figures)
    }
    return Figures(**kept)
