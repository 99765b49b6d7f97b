"""Recipes and the revisions that a recipe goes through."""

from __future__ import annotations

from collections.abc import Iterable

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.services.entries import REASON_LENGTH, check_code, check_text
from inventory.services.rows import write_row
from recipes.models import (
    Line,
    Method,
    Recipe,
    Revision,
    RevisionState,
    Substitute,
    YeastOption,
)
from recipes.models.methods import BREW_DAY_FACTS
from recipes.services.drafts import locked_draft

_COPIED_FROM_METHOD = (
    "kind",
    "finished_volume",
    "pre_boil_volume",
    "post_boil_volume",
    "steps",
    *BREW_DAY_FACTS,
)
_COPIED_FROM_LINE = (
    "position",
    "item_id",
    "use",
    "minutes",
    "quantity",
    "role",
    "reference_alpha",
    "least_minutes",
    "most_minutes",
    "note",
)
_COPIED_FROM_SUBSTITUTE = ("item_id", "ratio", "note", "approved_by_id", "approved_at")


@service
def write_recipe(
    *,
    by: User,
    code: str,
    name: str,
    style: str = "",
    notes: str = "",
    expected: int | None = None,
) -> Recipe:
    """Write a new recipe, or change what is said of the one with this code.

    ``expected`` is the version the person started from; without it, the one that stands. Writing
    what already stands changes nothing.

    Raises
    ------
    Refusal: ``code-not-valid``, ``entry-not-valid``, or ``changed-by-someone-else``.
    """
    check_code(code, "a recipe")
    recipe = Recipe.objects.filter(code=code).first() or Recipe(code=code)
    values = {"name": name, "style": style, "notes": notes}
    write_row(by=by, row=recipe, values=values, expected=expected)
    return recipe


@service
def begin_recipe(*, by: User, code: str, name: str, style: str = "", notes: str = "") -> Revision:
    """Write a recipe that there is not yet, and start its first draft.

    Raises
    ------
    Refusal: ``recipe-code-taken``, or what :func:`write_recipe` refuses.
    """
    if Recipe.objects.filter(code=code).exists():
        raise Refusal(
            "recipe-code-taken",
            f"There is a recipe {code} already.",
            "Give another code, or start a new revision of that recipe.",
        )
    recipe = write_recipe(by=by, code=code, name=name, style=style, notes=notes)
    return start_revision(by=by, recipe=recipe)


@service
def start_revision(
    *, by: User, recipe: Recipe, reason: str = "", source: Revision | None = None
) -> Revision:
    """Start the next draft of a recipe, a copy of ``source`` or of the newest revision.

    Methods, yeasts and approved substitutes come along; who approved them and when stays.
    """
    check_text(reason, REASON_LENGTH, "The reason")
    Recipe.objects.select_for_update().get(pk=recipe.pk)
    newest = recipe.revisions.order_by("number").last()
    number = newest.number + 1 if newest else 1
    revision = Revision.objects.create(recipe=recipe, number=number, reason=reason)
    copied = source or newest
    if copied:
        _copy(copied, revision)
    write_history(
        by=by,
        thing=revision,
        action="start-revision",
        after={"number": number, "reason": reason, "copied_from": copied and copied.number},
    )
    return revision


@service
def try_revision(*, by: User, revision: Revision, expected: int) -> Revision:
    """Mark a draft as being brewed on trial. It may still change.

    Raises
    ------
    Refusal: ``revision-offered`` once it is offered or retired.
    """
    locked_draft(revision)
    change_version(
        by=by,
        thing=revision,
        expected=expected,
        action="try-revision",
        changes={"state": RevisionState.TRIAL},
    )
    return revision


def _copy(newest: Revision, revision: Revision) -> None:
    substitutes: list[Substitute] = []
    for method in newest.methods.prefetch_related("lines__substitutes"):
        copy = Method.objects.create(
            revision=revision,
            **{field: getattr(method, field) for field in _COPIED_FROM_METHOD},
        )
        lines = list(method.lines.all())
        copies = Line.objects.bulk_create(
            Line(method=copy, **{field: getattr(line, field) for field in _COPIED_FROM_LINE})
            for line in lines
        )
        for line, line_copy in zip(lines, copies, strict=True):
            substitutes += _copied(line.substitutes.all(), line=line_copy)
    yeasts = list(newest.yeasts.prefetch_related("substitutes"))
    options = YeastOption.objects.bulk_create(
        YeastOption(revision=revision, item_id=option.item_id, position=option.position)
        for option in yeasts
    )
    for option, option_copy in zip(yeasts, options, strict=True):
        substitutes += _copied(option.substitutes.all(), yeast=option_copy)
    approved = [substitute.approved_at for substitute in substitutes]
    Substitute.objects.bulk_create(substitutes)
    for substitute, approved_at in zip(substitutes, approved, strict=True):
        substitute.approved_at = approved_at  # the column dates every new row itself
    Substitute.objects.bulk_update(substitutes, ["approved_at"])


def _copied(
    substitutes: Iterable[Substitute], **stands_for: Line | YeastOption
) -> list[Substitute]:
    return [
        Substitute(
            **stands_for,
            **{field: getattr(substitute, field) for field in _COPIED_FROM_SUBSTITUTE},
        )
        for substitute in substitutes
    ]
