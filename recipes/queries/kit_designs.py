"""A kit as its method designs it: the brew at the kit's size, its figures, and its bill.

Offering freezes this design; until then a page shows it as it would be. Hops whose weight never
moves count in the figures as they are packed, on the step of the pouch scale; so does what comes
in whole containers, with what makes up for it. Every other amount counts unrounded. The kit's
target IBU is the bitterness of that brew.

A substitute's figures are those of the same brew with that one thing in its place.

The figures are those of the whole beer, whatever the box holds of it: a hop pack holds the hops of
the method and its own parts, and a kit that a hop pack goes into holds all but the hops.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar

from boxwort.errors import Refusal
from inventory.models import Item, ItemKind
from recipes.brewing.figures import Figures
from recipes.brewing.gravity import plato_from_sg
from recipes.brewing.scale import ScaledLine
from recipes.models import MOST_KITS, Contents, Kit, KitBillLine, Line, Part, Substitute
from recipes.queries.amounts import (
    Amount,
    StandIn,
    bill_rows,
    line_amount,
    part_amount,
    substitute_rows_of,
    yeast_amount,
)
from recipes.queries.bills import BillRow, BillTotal, SubstituteRow, totals
from recipes.queries.contents import (
    LineContent,
    StrainContent,
    SubstituteContent,
    is_hop,
    methods_in_full,
)
from recipes.queries.packed_brews import house_scales
from recipes.queries.sized_methods import SizedMethod, sized
from recipes.queries.stand_ins import placed
from recipes.queries.sub_kits import hop_pack_of

_Kept = TypeVar("_Kept", SubstituteContent, StrainContent)


@dataclass(frozen=True, kw_only=True)
class KitDesign:
    """What a kit is by design: figures with working, the rows of its bill, what may stand in."""

    figures: Figures
    rows: tuple[BillRow, ...]
    substitutes: Mapping[str, tuple[SubstituteRow, ...]]

    @property
    def target_ibu(self) -> float:
        """Unrounded sum of the additions at reference alpha."""
        return self.figures.ibu.value


@dataclass(frozen=True, kw_only=True)
class ScaledDesign:
    """A method at another size, and what a number of kits of it would take.

    ``volume`` is microlitres; ``reasons`` and ``lines`` say why each amount is what it is, and are
    empty at the method's own size.
    """

    method_id: int
    volume: int
    kits: int
    figures: Figures
    rows: tuple[BillRow, ...]
    totals: tuple[BillTotal, ...]
    reasons: tuple[str, ...]
    lines: tuple[ScaledLine, ...]


def kit_design(kit_id: int) -> KitDesign:
    """Return the design of a kit, from what its revision kept or the draft as it is now.

    Raises
    ------
    Kit.DoesNotExist: there is no such kit.
    Refusal: it cannot be brewed at this size; it says why.
    """
    kit = Kit.objects.prefetch_related("parts__item").get(pk=kit_id)
    kit.method = methods_in_full().get(pk=kit.method_id)
    design = sized(kit.method, house_scales(), kit.volume)
    figures = design.figures
    hops_alone = kit.contents == Contents.HOP_PACK
    amounts = [
        *(_parted(amount, kit.grain_part) for amount in _line_amounts(design, _held_by(kit))),
        *(() if hops_alone else _yeast_amounts(design, kit.yeast_part, figures)),
        *(part_amount(part) for part in kit.parts.all()),
    ]
    return KitDesign(
        figures=figures, rows=bill_rows(amounts), substitutes=substitute_rows_of(amounts)
    )


def _held_by(kit: Kit) -> Callable[[LineContent], bool]:
    """Return which lines of the method are in the box of a kit."""
    if kit.contents == Contents.HOP_PACK:
        return is_hop
    if hop_pack_of(kit.pk):
        return lambda known: not is_hop(known)
    return _every_line


def _every_line(_: LineContent) -> bool:
    return True


def _parted(amount: Amount, grain_part: str) -> Amount:
    """Return a line's amount with the time it goes in: grain may be crushed to order."""
    return replace(amount, part=grain_part) if amount.item.kind == ItemKind.GRAIN else amount


def figures_with(kit_id: int, chosen: Mapping[str, SubstituteRow]) -> Figures:
    """Return the figures of an offered kit brewed with these substitutes, by key, all at once.

    With one alone they are those that its row holds.
    """
    kit = Kit.objects.get(pk=kit_id)
    design = sized(methods_in_full().get(pk=kit.method_id), house_scales(), kit.volume)
    lines = list(design.method.lines.all())
    places = {line.pk: number for number, line in enumerate(lines)}
    for row in KitBillLine.objects.filter(kit=kit, key__in=chosen).order_by("position"):
        item_id = chosen[row.key].item_id
        if row.line_id is not None:
            number = places[row.line_id]
            approved, known = lines[number].substitutes.all(), design.content["lines"][number]
            design = design.with_line(number, _chosen(approved, known["substitutes"], item_id))
            continue
        options = zip(design.method.revision.yeasts.all(), design.content["yeasts"], strict=True)
        for option, yeast in options:
            if option.item_id == row.item_id:
                approved = option.substitutes.all()
                design = design.pitched(_chosen(approved, yeast["substitutes"], item_id))
    return design.figures


def _chosen(approved: Iterable[Substitute], kept: Iterable[_Kept], item_id: int) -> _Kept:
    """Return what was kept of the approved substitute that is this item."""
    pairs = zip(approved, kept, strict=True)
    return next(goods for substitute, goods in pairs if substitute.item_id == item_id)


def scaled_design(method_id: int, volume: int, kits: int = 1) -> ScaledDesign:
    """Return a method at another size, with the totals of a number of kits.

    Raises
    ------
    Method.DoesNotExist: there is no such method.
    Refusal: ``kits-impossible``, or it cannot be brewed at this size.
    """
    _refuse_uncountable(kits)
    design = sized(methods_in_full().get(pk=method_id), house_scales(), volume)
    figures = design.figures
    lines = _line_amounts(design, _every_line)
    amounts = [*lines, *_yeast_amounts(design, Part.DISPATCH, figures)]
    rows = bill_rows(amounts)
    return ScaledDesign(
        method_id=method_id,
        volume=volume,
        kits=kits,
        figures=figures,
        rows=rows,
        totals=tuple(totals(rows, kits)),
        reasons=design.reasons,
        lines=design.lines,
    )


def _line_amounts(design: SizedMethod, wanted: Callable[[LineContent], bool]) -> Iterator[Amount]:
    """Yield the wanted lines at this size; content and brew hold them in the same order."""
    lines = design.method.lines.all()
    for number, (line, known) in enumerate(zip(lines, design.content["lines"], strict=True)):
        if not wanted(known):
            continue
        stand_ins = []
        for substitute, goods in zip(line.substitutes.all(), known["substitutes"], strict=True):
            other = design.with_line(number, goods)
            amount = _line_amount(other, number, line, substitute.item)
            stand_ins.append(StandIn(substitute=substitute, amount=amount, figures=other.figures))
        usual = _line_amount(design, number, line, line.item)
        yield replace(usual, stand_ins=tuple(stand_ins))


def _line_amount(design: SizedMethod, number: int, line: Line, item: Item) -> Amount:
    known, place = list(placed(design.content))[number]
    return line_amount(
        line, item, known, brew=design.brew, place=place, size=design.size, scales=design.scales
    )


def _yeast_amounts(design: SizedMethod, part: str, figures: Figures) -> Iterator[Amount]:
    plato = plato_from_sg(figures.og.value)
    options = design.method.revision.yeasts.all()
    for option, yeast in zip(options, design.content["yeasts"], strict=True):
        stand_ins = tuple(
            StandIn(
                substitute=substitute,
                amount=yeast_amount(
                    substitute.item, strain, part=part, volume=design.volume, plato=plato
                ),
                figures=design.pitched(strain).figures,
            )
            for substitute, strain in zip(
                option.substitutes.all(), yeast["substitutes"], strict=True
            )
        )
        amount = yeast_amount(option.item, yeast, part=part, volume=design.volume, plato=plato)
        yield replace(amount, stand_ins=stand_ins)


def _refuse_uncountable(kits: int) -> None:
    if not 1 <= kits <= MOST_KITS:
        raise Refusal(
            "kits-impossible",
            f"{kits} kits cannot be counted.",
            f"Give 1 to {MOST_KITS:,} kits.",
        )
