"""A method as somebody types it: what they typed, and what the beer would be."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db.models import QuerySet

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from recipes.brewing.figures import Figures
from recipes.brewing.parity import Parity, parity
from recipes.models import Line, Method, Revision, TypedMethod
from recipes.queries.contents import (
    MethodContent,
    brew_of,
    content_with_lines,
    method_content,
    methods_in_full,
    yeasts_in_full,
)
from recipes.queries.figures import computed
from recipes.queries.obstacles import Obstacle, obstacles_in, warnings_in
from recipes.queries.packed_brews import Scales, house_scales
from recipes.queries.parity import boxed_figures
from recipes.queries.styles import StyleCheck, style_of


@dataclass(frozen=True, kw_only=True)
class TypingRow:
    """What one person typed and has not saved; ``behind`` where the draft was changed since."""

    by: str
    typed_at: datetime
    started_from: int
    behind: bool
    texts: Mapping[str, list[str]]


@dataclass(frozen=True, kw_only=True)
class TypedTwin:
    """The typed method beside another of the revision, both as packed."""

    label: str
    parity: Parity


@dataclass(frozen=True, kw_only=True)
class TypedFigures:
    """What a method would be as it is typed; ``figures`` is None where ``problem`` says why."""

    figures: Figures | None
    problem: str
    style: StyleCheck | None
    twins: tuple[TypedTwin, ...]
    obstacles: tuple[Obstacle, ...]
    warnings: tuple[Obstacle, ...]


def typing_of(revision: Revision, kind: str, person: User) -> TypingRow | None:
    """Return what a person typed at a method and has not saved."""
    found = _unsaved(revision).filter(kind=kind, typed_by=person).first()
    return _row(found, revision) if found else None


def typing_of_others(revision: Revision, kind: str, person: User) -> list[TypingRow]:
    """Return what others typed at the same method and have not saved."""
    found = _unsaved(revision).filter(kind=kind).exclude(typed_by=person).order_by("-typed_at")
    return [_row(typed, revision) for typed in found]


def kinds_typed(revision_id: int, person: User) -> list[str]:
    """Return the kinds of method at which a person typed something that is not saved."""
    found = TypedMethod.objects.filter(revision=revision_id, typed_by=person).exclude(texts={})
    return list(found.values_list("kind", flat=True))


def typed_figures(
    revision: Revision, said: Mapping[str, Any], lines: Sequence[Mapping[str, Any]]
) -> TypedFigures:
    """Return the figures of a method that is typed, beside the revision's other methods.

    Parameters
    ----------
    said, lines: the columns of the method and of its lines, in order; nothing is kept of them.
    """
    method = Method(revision=revision, **said)
    yeasts = yeasts_in_full().filter(revision=revision)
    content = content_with_lines(method, [Line(**line) for line in lines], yeasts)
    scales = house_scales()
    figures, problem = _figures(content)
    others = methods_in_full().filter(revision=revision).exclude(kind=method.kind)
    style = style_of(revision.recipe.style)
    return TypedFigures(
        figures=figures,
        problem=problem,
        style=style.check(figures) if style and figures else None,
        twins=tuple(_twins(content, list(others), scales)) if figures else (),
        obstacles=tuple(obstacles_in(content, scales)),
        warnings=tuple(warnings_in(content)),
    )


def _unsaved(revision: Revision) -> QuerySet[TypedMethod]:
    found = TypedMethod.objects.filter(revision=revision).exclude(texts={})
    return found.select_related("typed_by")


def _row(typed: TypedMethod, revision: Revision) -> TypingRow:
    return TypingRow(
        by=typed.typed_by.named,
        typed_at=typed.typed_at,
        started_from=typed.started_from,
        behind=typed.started_from != revision.version,
        texts=typed.texts,
    )


def _figures(content: MethodContent) -> tuple[Figures | None, str]:
    try:
        return computed(brew_of(content)), ""
    except Refusal as refusal:
        return None, str(refusal)


def _twins(content: MethodContent, others: Sequence[Method], scales: Scales) -> list[TypedTwin]:
    mine = boxed_figures(content, scales)
    boxes = [(method, boxed_figures(method_content(method), scales)) for method in others]
    return [
        TypedTwin(
            label=method.get_kind_display(),
            parity=parity(mine, theirs, same_yeasts=True),
        )
        for method, theirs in boxes
        if mine and theirs
    ]
