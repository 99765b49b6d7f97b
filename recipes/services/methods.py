"""Methods of a draft with their lines, and its yeast options."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import Item, ItemKind
from inventory.services.rows import check_row
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Line, Method, Revision, YeastOption
from recipes.services.drafts import change_draft

HIGHEST_ALPHA = 0.35
_NOT_A_LINE = {
    ItemKind.YEAST: "Add it as a yeast option of the revision.",
    ItemKind.KIT: "Write the ingredients of the kit as lines.",
}


@dataclass(frozen=True, kw_only=True)
class MethodFacts:
    """What a method says of itself. Volumes in microlitres of wort at 20 C, efficiency 0-1."""

    kind: MethodKind
    finished_volume: int
    pre_boil_volume: int
    post_boil_volume: int
    boil_minutes: int = 60
    mash_efficiency: float = 0.75
    mash_temperature_c: float | None = None
    ferment_temperature_c: float = 20.0
    steps: str = ""


@dataclass(frozen=True, kw_only=True)
class LineFacts:
    """One addition. ``quantity`` in units of stock; a hop has a role and reference alpha (0-1)."""

    item: Item
    use: Use
    quantity: int
    minutes: int = 0
    role: HopRole | None = None
    reference_alpha: float | None = None
    note: str = ""


@service
def write_method(
    *,
    by: User,
    revision: Revision,
    facts: MethodFacts,
    lines: Sequence[LineFacts],
    expected: int | None = None,
) -> Method:
    """Write a draft's method of this kind anew, with all its lines in order.

    Raises
    ------
    Refusal: ``revision-offered``; ``boil-impossible``, ``efficiency-impossible``,
        ``quantity-missing``, ``not-a-line``, ``hop-line-incomplete``, ``not-a-hop`` or
        ``entry-not-valid`` for facts that no method can have; ``changed-by-someone-else``.
    """
    _refuse_impossible_method(facts)
    for line in lines:
        _refuse_impossible_line(line)
    change_draft(by=by, revision=revision, expected=expected, action="write-method")
    known = {"revision": revision, "kind": facts.kind}
    method = Method.objects.filter(**known).first() or Method(**known)
    before = {} if method._state.adding else _said(method)
    for name, value in asdict(facts).items():
        setattr(method, name, value)
    check_row(method)
    method.save()
    _replace_lines(method, lines)
    write_history(by=by, thing=method, action="write-method", before=before, after=_said(method))
    return method


@service
def write_yeasts(
    *, by: User, revision: Revision, items: Sequence[Item], expected: int | None = None
) -> list[YeastOption]:
    """Write the yeast options of a draft; the first is the usual one.

    Raises
    ------
    Refusal: ``revision-offered``, ``not-a-yeast``, ``yeast-named-twice``, or
        ``changed-by-someone-else``.
    """
    _refuse_impossible_yeasts(items)
    change_draft(by=by, revision=revision, expected=expected, action="write-yeasts")
    before = list(revision.yeasts.values_list("item__code", flat=True))
    revision.yeasts.all().delete()
    options = YeastOption.objects.bulk_create(
        YeastOption(revision=revision, item=item, position=position)
        for position, item in enumerate(items, start=1)
    )
    write_history(
        by=by,
        thing=revision,
        action="write-yeasts",
        before={"yeasts": before},
        after={"yeasts": [item.code for item in items]},
    )
    return options


def _replace_lines(method: Method, lines: Sequence[LineFacts]) -> None:
    method.lines.all().delete()
    rows = [
        Line(
            method=method,
            position=position,
            item=line.item,
            use=line.use,
            minutes=line.minutes,
            quantity=line.quantity,
            role=line.role or "",
            reference_alpha=line.reference_alpha,
            note=line.note,
        )
        for position, line in enumerate(lines, start=1)
    ]
    for row in rows:
        check_row(row)
    Line.objects.bulk_create(rows)


def _said(method: Method) -> dict[str, Any]:
    """Return a method and its lines as history keeps them."""
    fields = ("use", "minutes", "quantity", "role", "reference_alpha", "note")
    return {
        **{name: getattr(method, name) for name in MethodFacts.__dataclass_fields__},
        "lines": list(method.lines.values("item__code", *fields)),
    }


def _refuse_impossible_method(facts: MethodFacts) -> None:
    if not 0 < facts.post_boil_volume <= facts.pre_boil_volume or facts.finished_volume <= 0:
        raise Refusal(
            "boil-impossible",
            "The volumes of the method are not those of a boil.",
            "Give all three above zero, and no more after the boil than before it.",
        )
    if not 0 < facts.mash_efficiency <= 1:
        raise Refusal(
            "efficiency-impossible",
            f"A mash efficiency of {facts.mash_efficiency:.0%} cannot be.",
            "Give a share above 0 % and up to 100 %.",
        )


def _refuse_impossible_line(line: LineFacts) -> None:
    if line.quantity <= 0:
        raise Refusal(
            "quantity-missing",
            f"The line of {line.item} has no amount.",
            "Give an amount above zero, or leave the line out.",
        )
    remedy = _NOT_A_LINE.get(ItemKind(line.item.kind))
    if remedy:
        raise Refusal("not-a-line", f"{line.item} cannot be a line of a method.", remedy)
    if line.item.kind != ItemKind.HOP and (line.role or line.reference_alpha is not None):
        raise Refusal(
            "not-a-hop",
            f"{line.item} is not a hop, and has a role or an alpha acid.",
            "Leave both empty.",
        )
    if (line.role is None) != (line.reference_alpha is None):
        raise Refusal(
            "hop-line-incomplete",
            f"The line of {line.item} has only one of role and reference alpha.",
            "Give both, or neither while you are drafting.",
        )
    if line.reference_alpha is not None and not 0 < line.reference_alpha < HIGHEST_ALPHA:
        raise Refusal(
            "hop-line-incomplete",
            f"A reference alpha of {line.reference_alpha:.1%} for {line.item} cannot be.",
            f"Give the share of alpha acid, above 0 % and below {HIGHEST_ALPHA:.0%}.",
        )


def _refuse_impossible_yeasts(items: Sequence[Item]) -> None:
    for item in items:
        if item.kind != ItemKind.YEAST:
            raise Refusal(
                "not-a-yeast",
                f"{item} is not a yeast.",
                "Choose items of the kind yeast.",
            )
    if len({item.pk for item in items}) < len(items):
        raise Refusal(
            "yeast-named-twice",
            "A yeast is named twice.",
            "Name each yeast once.",
        )
