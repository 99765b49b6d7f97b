"""Approved substitutes of a draft: what may stand for a line, or for a yeast, when it runs out."""

from __future__ import annotations

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG
from inventory.models import Item
from inventory.models.items import FERMENTABLE_KINDS
from inventory.services.rows import check_row
from recipes.brewing.placement import misplaced
from recipes.brewing.roles import MethodKind
from recipes.models import Line, Method, Revision, Substitute, YeastOption
from recipes.queries.contents import (
    LineContent,
    fermentable_of,
    hop_of,
    is_fermentable,
    is_hop,
    line_content,
    substitute_content,
)
from recipes.queries.stand_ins import standing_for
from recipes.services.drafts import change_draft

RATIO_LIMITS = (0.01, 100.0)


@service
def approve_substitute(
    *,
    by: User,
    stands_for: Line | YeastOption,
    item: Item,
    ratio: float = 1.0,
    note: str = "",
    expected: int | None = None,
) -> Substitute:
    """Approve an item in the place of a draft's line or yeast.

    ``ratio`` is its weight for a weight of 1 of what it stands for. Hops that hold bitterness or
    absorb are solved by their alpha acid whatever it says; packs of yeast are counted anew, and
    theirs is 1. Approving it once more changes ratio, note and who approved; approving
    what already stands changes nothing.

    Raises
    ------
    Refusal: ``revision-offered``; ``substitute-is-itself``, ``substitute-of-another-kind``,
        ``ratio-impossible``, ``substitute-unfit`` or ``specification-missing`` for what cannot
        stand there; ``changed-by-someone-else``.
    """
    named = {"line" if isinstance(stands_for, Line) else "yeast": stands_for}
    found = Substitute.objects.filter(**named, item=item).first()
    if found and (found.ratio, found.note) == (ratio, note):
        return found
    substitute = found or Substitute(**named, item=item)
    before = {} if found is None else _said(substitute)
    substitute.ratio, substitute.note, substitute.approved_by = ratio, note, by
    _refuse_impossible(substitute, stands_for)
    revision = revision_of(stands_for)
    change_draft(by=by, revision=revision, expected=expected, action="approve-substitute")
    check_row(substitute)
    substitute.save()
    write_history(
        by=by,
        thing=substitute,
        action="approve-substitute",
        before=before,
        after=_said(substitute),
    )
    return substitute


@service
def withdraw_substitute(*, by: User, substitute: Substitute, expected: int | None = None) -> None:
    """Withdraw a substitute from a draft.

    Raises
    ------
    Refusal: ``revision-offered``, or ``changed-by-someone-else``.
    """
    stands_for = substitute.line or substitute.yeast
    if stands_for is None:  # the database holds no such row
        raise Substitute.DoesNotExist
    revision = revision_of(stands_for)
    change_draft(by=by, revision=revision, expected=expected, action="withdraw-substitute")
    before = _said(substitute)
    write_history(by=by, thing=substitute, action="withdraw-substitute", before=before)
    substitute.delete()


def revision_of(stands_for: Line | YeastOption) -> Revision:
    """Return the revision that a line or a yeast option belongs to."""
    return stands_for.method.revision if isinstance(stands_for, Line) else stands_for.revision


def _said(substitute: Substitute) -> dict[str, object]:
    stands_for = substitute.line or substitute.yeast
    return {
        "stands_for": stands_for and stands_for.item.code,
        "item": substitute.item.code,
        "ratio": substitute.ratio,
        "note": substitute.note,
        "approved_by": substitute.approved_by.username,
    }


def _refuse_impossible(substitute: Substitute, stands_for: Line | YeastOption) -> None:
    item, original = substitute.item, stands_for.item
    if item.pk == original.pk:
        raise Refusal(
            "substitute-is-itself",
            f"{item} cannot stand for itself.",
            "Choose another item.",
        )
    refuse_unlike(item, original)
    least, most = RATIO_LIMITS
    if not least <= substitute.ratio <= most:
        raise Refusal(
            "ratio-impossible",
            f"{substitute.ratio:g} of {item} for 1 of {original} cannot be.",
            f"Give a ratio from {least:g} to {most:g}.",
        )
    if isinstance(stands_for, Line):
        _refuse_unfit(
            standing_for(line_content(stands_for), substitute_content(substitute)),
            stands_for.method,
        )
    elif substitute.ratio != 1:
        raise Refusal(
            "ratio-impossible",
            f"{item} is pitched by its own cells or dose, not by a ratio.",
            "Leave the ratio at 1.",
        )


def refuse_unlike(item: Item, original: Item) -> None:
    """Refuse what is of another kind than what it is to stand for."""
    if not _alike(item, original):
        raise Refusal(
            "substitute-of-another-kind",
            f"{item} is no substitute for {original}: they are not of one kind.",
            "Choose a hop for a hop, a fermentable for a fermentable, a yeast for a yeast, and "
            "otherwise an item of the same kind and measure.",
        )


def _alike(item: Item, original: Item) -> bool:
    one_kind = item.kind == original.kind
    fermentables = {item.kind, original.kind} <= set(FERMENTABLE_KINDS)
    return (one_kind or fermentables) and item.measure == original.measure


def _refuse_unfit(line: LineContent, method: Method) -> None:
    """Refuse what can be no line of that use: grain in the boil, flaked grain in a steep."""
    if is_hop(line):
        hop_of(line, line["quantity"] / MG_PER_G)
    if not is_fermentable(line):
        return
    grain = fermentable_of(line, line["quantity"] / MG_PER_KG)
    for found in misplaced([grain], MethodKind(method.kind)):
        if found.name == grain.name and found.refused:
            raise Refusal("substitute-unfit", f"It cannot stand there: {found.what}", found.remedy)
