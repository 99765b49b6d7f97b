"""Approved substitutes of a revision, and what the beer becomes with each of them."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from functools import partial

from boxwort.errors import Refusal
from boxwort.working import Working
from inventory.models import Item
from inventory.models.items import ALLERGENS
from recipes.brewing.figures import Figures
from recipes.brewing.parity import Parity, parity
from recipes.brewing.substitution import suggested_ratio
from recipes.models import Line, Method, Substitute, YeastOption
from recipes.queries.contents import (
    StrainContent,
    fermentable_of,
    hop_of,
    is_hop,
    line_content,
    method_content,
    methods_in_full,
    substitute_content,
)
from recipes.queries.packed_brews import Scales, house_scales
from recipes.queries.sized_methods import SizedMethod, sized
from recipes.queries.stand_ins import hop_form_factor, standing_for


@dataclass(frozen=True, kw_only=True)
class TwinEffect:
    """The method with the substitute beside another method; a yeast goes into both."""

    other_id: int
    other_label: str
    parity: Parity


@dataclass(frozen=True, kw_only=True)
class SubstituteEffectRow:
    """One approved substitute in one method, a yeast's in each.

    Attributes
    ----------
    line_id, yeast_id: what it stands for: a line of the method, or a yeast option.
    ratio: its weight for a weight of 1.
    before, after: the method's figures without and with it, as written; None where ``problem``
        says why. Those of a yeast are with the option it stands for.
    twins: with it, beside each other method, as packed.
    allergens_new, allergens_gone: of the method's lines and yeasts, with it.
    """

    id: int
    method_id: int
    method_kind: str
    method_label: str
    line_id: int | None
    yeast_id: int | None
    position: int
    stands_for_code: str
    stands_for_name: str
    use: str
    minutes: int
    item_id: int
    item_code: str
    item_name: str
    ratio: float
    note: str
    approved_by: str
    approved_at: datetime
    before: Figures | None
    after: Figures | None
    twins: tuple[TwinEffect, ...]
    allergens_new: tuple[str, ...]
    allergens_gone: tuple[str, ...]
    problem: str


def substitute_rows(revision_id: int) -> list[SubstituteEffectRow]:
    """Return every approved substitute of a revision, by method, line and approval."""
    scales = house_scales()
    methods = list(methods_in_full().filter(revision=revision_id))
    designs = [design for method in methods if (design := _sized(method, scales))]
    return [_effect(each, designs, method) for method in methods for each in _approved(method)]


def suggested_weight(line: Line, item: Item) -> Working:
    """Return the weight of an item for a weight of 1 of a draft's line, to begin from.

    Raises
    ------
    Refusal: ``substitute-unfit``, or ``specification-missing``.
    """
    known = line_content(line)
    goods = substitute_content(Substitute(line=line, item=item))
    try:
        if is_hop(known):
            factor = hop_form_factor(known["form"], goods["form"], house_scales())
            other = hop_of(standing_for(known, goods), 0.0, factor)
            return suggested_ratio(hop_of(known, 0.0), other)
        return suggested_ratio(
            fermentable_of(known, 0.0),
            fermentable_of(standing_for(known, goods), 0.0),
            line.method.mash_efficiency,
        )
    except ValueError as problem:
        raise Refusal(
            "substitute-unfit",
            f"No weight can be worked out: {problem}.",
            "Give the ratio yourself, or choose another item.",
        ) from problem


@dataclass(frozen=True, kw_only=True)
class _Approved:
    """A substitute, and the same method with it in place."""

    substitute: Substitute
    stands_for: Line | YeastOption
    put: Callable[[SizedMethod], SizedMethod]
    original: StrainContent | None = None

    def without(self, design: SizedMethod) -> SizedMethod:
        """Return the method with what it stands for."""
        return design.pitched(self.original) if self.original else design


def _sized(method: Method, scales: Scales) -> SizedMethod | None:
    try:
        return sized(method, scales)
    except Refusal:
        return None


def _approved(method: Method) -> Iterator[_Approved]:
    content = method_content(method)
    for number, line in enumerate(method.lines.all()):
        kept = content["lines"][number]["substitutes"]
        for substitute, goods in zip(line.substitutes.all(), kept, strict=True):
            put = partial(SizedMethod.with_line, number=number, substitute=goods)
            yield _Approved(substitute=substitute, stands_for=line, put=put)
    options = zip(method.revision.yeasts.all(), content["yeasts"], strict=True)
    for number, (option, yeast) in enumerate(options):
        original = yeast if number else None  # the usual yeast is in the method's own figures
        for substitute, strain in zip(option.substitutes.all(), yeast["substitutes"], strict=True):
            put = partial(SizedMethod.pitched, strain=strain)
            yield _Approved(substitute=substitute, stands_for=option, put=put, original=original)


def _effect(
    approved: _Approved, designs: Sequence[SizedMethod], method: Method
) -> SubstituteEffectRow:
    substitute, stands_for = approved.substitute, approved.stands_for
    mine = next((design for design in designs if design.method is method), None)
    before, after, twins, problem = _figures(approved, mine, designs)
    new, gone = _allergens(method, stands_for.item, substitute.item)
    line = stands_for if isinstance(stands_for, Line) else None
    person = substitute.approved_by
    return SubstituteEffectRow(
        id=substitute.pk,
        method_id=method.pk,
        method_kind=method.kind,
        method_label=method.get_kind_display(),
        line_id=line.pk if line else None,
        yeast_id=None if line else stands_for.pk,
        position=stands_for.position,
        stands_for_code=stands_for.item.code,
        stands_for_name=stands_for.item.name,
        use=line.use if line else "",
        minutes=line.minutes if line else 0,
        item_id=substitute.item_id,
        item_code=substitute.item.code,
        item_name=substitute.item.name,
        ratio=substitute.ratio,
        note=substitute.note,
        approved_by=person.named,
        approved_at=substitute.approved_at,
        before=before,
        after=after,
        twins=twins,
        allergens_new=new,
        allergens_gone=gone,
        problem=problem,
    )


def _figures(
    approved: _Approved, mine: SizedMethod | None, designs: Sequence[SizedMethod]
) -> tuple[Figures | None, Figures | None, tuple[TwinEffect, ...], str]:
    if mine is None:
        return None, None, (), "The method has no figures yet."
    try:
        other = approved.put(mine)
        before = approved.without(mine).written
        return before, other.written, tuple(_twins(approved, other, designs)), ""
    except Refusal as refusal:
        return None, None, (), str(refusal)


def _twins(
    approved: _Approved, changed: SizedMethod, designs: Sequence[SizedMethod]
) -> Iterator[TwinEffect]:
    in_both = isinstance(approved.stands_for, YeastOption)
    for design in designs:
        if design.method is changed.method:
            continue
        twin = approved.put(design) if in_both else design
        yield TwinEffect(
            other_id=twin.method.pk,
            other_label=twin.method.get_kind_display(),
            parity=parity(changed.packed, twin.packed, same_yeasts=True),
        )


def _allergens(
    method: Method, original: Item, substitute: Item
) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Return the allergens that come, and those that go with the only thing that has them."""
    others = [line.item for line in method.lines.all() if line.item_id != original.pk]
    others += [each.item for each in method.revision.yeasts.all() if each.item_id != original.pk]
    stay = {allergen for item in others for allergen in item.allergens}
    had, has = set(original.allergens), set(substitute.allergens)
    new, gone = has - had - stay, had - has - stay
    return tuple(a for a in ALLERGENS if a in new), tuple(a for a in ALLERGENS if a in gone)


def places_for(revision_id: int) -> dict[str, tuple[str, Line | YeastOption]]:
    """Return what may be stood for in a revision, each with its name, by a key of its own."""
    places: dict[str, tuple[str, Line | YeastOption]] = {}
    lines = Line.objects.filter(method__revision=revision_id).order_by("method", "position")
    for line in lines.select_related("item__malt", "item__hop", "method__revision__recipe"):
        when = f"{line.get_use_display().lower()} {line.minutes or ''}".rstrip()
        minutes = " min" if line.minutes else ""
        method = line.method.get_kind_display()
        places[f"line-{line.pk}"] = f"{method}: {line.item.name}, {when}{minutes}", line
    yeasts = YeastOption.objects.filter(revision=revision_id).order_by("position")
    for option in yeasts.select_related("item__yeast", "revision__recipe"):
        places[f"yeast-{option.pk}"] = f"Yeast: {option.item.name}", option
    return places
