"""The twin of a method as the converter drafts it, in items and stock units; nothing is written."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_KG, UL_PER_L
from inventory.models import Item, ItemKind
from inventory.models.items import FERMENTABLE_KINDS
from recipes.brewing.convert import Draft, all_grain_draft, converted
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Hop
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Line, Method
from recipes.models.methods import BREW_DAY_FACTS, METHOD_CHOICES
from recipes.queries.contents import (
    brew_of,
    fermentable_of,
    line_content,
    method_content,
    methods_in_full,
)
from recipes.queries.typed import TypedFigures, typed_figures

STEEP_MINUTES = 20
"""How long specialty grain is steeped; common practice."""
_HOP_STEP_MG = 100
_GRIST_STEP_MG = 1000
_LABELS = dict(METHOD_CHOICES)
_USES = [use.value for use in Use]


@dataclass(frozen=True, kw_only=True)
class TwinDraft:
    """A drafted twin.

    Attributes
    ----------
    kind, label: what it is.
    replaces: whether the revision has a method of this kind already.
    said, lines: the columns of the method and of its lines, in order.
    reasons, warnings: what the converter did, and what a person should look at.
    figures: of the draft as it would be written, beside the revision's other methods.
    """

    kind: MethodKind
    label: str
    replaces: bool
    said: Mapping[str, Any]
    lines: tuple[Mapping[str, Any], ...]
    reasons: tuple[str, ...]
    warnings: tuple[str, ...]
    figures: TypedFigures


def usual_volumes(method: Method) -> tuple[int, int]:
    """Return microlitres in the kettle before and after the boil, to begin a twin with.

    Those of the twin that stands, if there is one; else a partial boil for extract (two thirds of
    the beer, boiled down as in the method), and a full boil for all-grain.
    """
    standing = Method.objects.filter(revision=method.revision_id).exclude(pk=method.pk)
    to_all_grain = method.kind != MethodKind.ALL_GRAIN
    for twin in standing:
        if (twin.kind == MethodKind.ALL_GRAIN) is to_all_grain:
            return twin.pre_boil_volume, twin.post_boil_volume
    if to_all_grain:
        return round(method.finished_volume * 1.25), method.finished_volume
    boiled = round(method.finished_volume * 0.65)
    shrunk = boiled * method.post_boil_volume / method.pre_boil_volume
    return boiled, round(shrunk)


def twin_draft(
    method_id: int, *, pre_boil_volume: int, post_boil_volume: int, partial_mash: bool = True
) -> TwinDraft:
    """Return the twin of a method: of all-grain extract or a partial mash, of these all-grain.

    Parameters
    ----------
    pre_boil_volume, post_boil_volume: microlitres in the kettle of the twin.
    partial_mash: whether what has no extract or syrup may be mashed.

    Raises
    ------
    Method.DoesNotExist: there is no such method.
    Refusal: ``twin-impossible``, or the method has no figures itself.
    """
    method = methods_in_full().get(pk=method_id)
    stock = _stock()
    draft = _drafted(
        method,
        [_fermentable(item) for item in stock],
        pre_l=pre_boil_volume / UL_PER_L,
        post_l=post_boil_volume / UL_PER_L,
        partial_mash=partial_mash,
    )
    kind = draft.brew.kind
    said = {
        **{name: getattr(method, name) for name in BREW_DAY_FACTS},
        "kind": kind,
        "finished_volume": method.finished_volume,
        "pre_boil_volume": pre_boil_volume,
        "post_boil_volume": post_boil_volume,
    }
    standing = Method.objects.filter(revision=method.revision_id, kind=kind).first()
    said["steps"] = standing.steps if standing else ""
    lines = tuple(sorted(_lines(method, draft, stock), key=_by_brew_day))
    return TwinDraft(
        kind=kind,
        label=str(_LABELS[kind]),
        replaces=standing is not None,
        said=said,
        lines=lines,
        reasons=draft.reasons,
        warnings=draft.warnings,
        figures=typed_figures(method.revision, said, lines),
    )


def _stock() -> list[Item]:
    """Return what may stand for something: fermentables in use whose family is said."""
    items = Item.objects.filter(active=True, kind__in=FERMENTABLE_KINDS, malt__isnull=False)
    return list(items.exclude(malt__family="").select_related("malt").order_by("code"))


def _fermentable(item: Item) -> Fermentable:
    return fermentable_of(line_content(Line(item=item, use=Use.BOIL, quantity=0)), 0.0)


def _drafted(
    method: Method,
    stock: list[Fermentable],
    *,
    pre_l: float,
    post_l: float,
    partial_mash: bool,
) -> Draft:
    brew = brew_of(method_content(method))
    volumes = {"pre_boil_volume_l": pre_l, "post_boil_volume_l": post_l}
    try:
        if method.kind == MethodKind.ALL_GRAIN:
            return converted(brew, stock, partial_mash=partial_mash, **volumes)
        return all_grain_draft(brew, stock, **volumes)
    except ValueError as problem:
        raise Refusal(
            "twin-impossible",
            f"No twin can be drafted: {problem}.",
            "Change the method, the volumes or what is in the catalogue as the sentence says.",
        ) from problem


def _lines(method: Method, draft: Draft, stock: Iterable[Item]) -> Iterator[dict[str, Any]]:
    """Yield the lines of the draft: fermentables, hops, then what is neither, as it was.

    What went into a mash that there is no more, such as gypsum, goes into the boil.
    """
    old = list(method.lines.all())
    items = {item.name: item for item in stock} | {line.item.name: line.item for line in old}
    hops = [line for line in old if line.item.kind == ItemKind.HOP]
    counted = {*FERMENTABLE_KINDS, ItemKind.HOP}
    for fermentable in draft.brew.fermentables:
        yield _fermentable_line(fermentable, items[fermentable.name], old, method)
    for hop, line in zip(draft.brew.hops, hops, strict=True):
        yield _hop_line(hop, line)
    for line in old:
        if line.item.kind not in counted:
            unmashed = line.use == Use.MASH and draft.brew.kind is MethodKind.EXTRACT
            boiled = {"use": Use.BOIL.value, "minutes": method.boil_minutes} if unmashed else {}
            yield _as_it_was(line) | boiled


def _fermentable_line(
    fermentable: Fermentable, item: Item, old: Iterable[Line], method: Method
) -> dict[str, Any]:
    use = fermentable.use
    same = [line for line in old if line.item.pk == item.pk and line.use == use]
    minutes = same[0].minutes if same else STEEP_MINUTES if use is Use.STEEP else 0
    if use is Use.BOIL:
        given = fermentable.minutes
        minutes = method.boil_minutes if given is None else round(given)
    quantity = _stepped(fermentable.kg * MG_PER_KG, _GRIST_STEP_MG)
    return {"item": item, "use": use.value, "minutes": minutes, "quantity": quantity}


def _hop_line(hop: Hop, line: Line) -> dict[str, Any]:
    return {**_as_it_was(line), "quantity": _stepped(hop.grams * 1000, _HOP_STEP_MG)}


def _as_it_was(line: Line) -> dict[str, Any]:
    names = ("item", "use", "minutes", "quantity", "role", "reference_alpha")
    more = ("least_minutes", "most_minutes", "note")
    return {name: getattr(line, name) for name in (*names, *more)}


def _by_brew_day(line: Mapping[str, Any]) -> tuple[int, int]:
    return _USES.index(line["use"]), -line["minutes"]


def _stepped(exact: float, step: int) -> int:
    return max(step, round(exact / step) * step)
