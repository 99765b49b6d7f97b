"""A kit as its method designs it: the brew at the kit's size, its figures, and its bill.

Offering freezes this design; until then a page shows it as it would be. Hops that hold their
weight count in the figures as they are packed, on the step of the pouch scale, because they never
move; every other amount counts unrounded. The kit's target IBU is the bitterness of that brew.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import count

from boxwort.accounts.queries import site_settings
from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L, Measure
from inventory.models import Item, ItemKind, YeastForm
from recipes.brewing.bill import BillLine, bill, packed_amount
from recipes.brewing.figures import Brew, Figures, hop_additions
from recipes.brewing.gravity import plato_from_sg
from recipes.brewing.pitch import cells_needed, dry_grams_needed, dry_pitch, liquid_pitch
from recipes.brewing.roles import HopRole, Use
from recipes.brewing.scale import scaled
from recipes.models import Kit, Line
from recipes.queries.bills import BillRow
from recipes.queries.contents import (
    MethodContent,
    YeastContent,
    brew_of,
    is_fermentable,
    is_hop,
    method_content,
    methods_in_full,
)
from recipes.queries.figures import computed

# A gram is less than a thousandth of the smallest malt bag: no figure feels it.
GRIST_STEP_MG = 1000
# Liquids are drawn up in a syringe with marks of a tenth of a millilitre.
LIQUID_STEP_UL = 100

_KEYS = {
    ItemKind.GRAIN: "malt",
    ItemKind.EXTRACT: "malt",
    ItemKind.SUGAR: "malt",
    ItemKind.PACKAGING: "pack",
    ItemKind.PRINTED: "pack",
}


@dataclass(frozen=True, kw_only=True)
class KitDesign:
    """What a kit is by design: figures with working, and the rows of its bill."""

    figures: Figures
    rows: tuple[BillRow, ...]

    @property
    def target_ibu(self) -> float:
        """Unrounded sum of the additions at reference alpha."""
        return self.figures.ibu.value


@dataclass(frozen=True, kw_only=True)
class _Amount:
    """One row before it has a key: the item, its exact amount, and how it is rounded."""

    item: Item
    part: str
    exact: float
    step: int
    scale: str
    line: Line | None = None
    role: str = ""
    alpha: float | None = None
    ibu_per_gram: float | None = None
    packs: int | None = None
    reason: str = ""


def kit_design(kit_id: int) -> KitDesign:
    """Return the design of a kit, from what its revision kept or the draft as it is now.

    Raises
    ------
    Kit.DoesNotExist: there is no such kit.
    Refusal: it cannot be brewed at this size; it says why.
    """
    kit = Kit.objects.prefetch_related("parts__item").get(pk=kit_id)
    kit.method = methods_in_full().get(pk=kit.method_id)
    site = site_settings()
    content = method_content(kit.method)
    brew = _at_kit_size(brew_of(content), kit.volume / UL_PER_L)
    result = computed(as_packed(brew, site.pouch_resolution_mg))
    amounts = [
        *_line_amounts(kit, content, brew, site.pouch_resolution_mg, site.scale_division_mg),
        *_yeast_amounts(kit, content, result.og.value),
        *_part_amounts(kit),
    ]
    return KitDesign(figures=result, rows=_rows(amounts))


def as_packed(brew: Brew, pouch_step_mg: int) -> Brew:
    """Return the brew with the hops that hold their weight on the step of the pouch scale."""
    return replace(
        brew,
        hops=tuple(
            replace(hop, grams=packed_amount(hop.grams * MG_PER_G, pouch_step_mg) / MG_PER_G)
            if hop.role is HopRole.HOLD_WEIGHT
            else hop
            for hop in brew.hops
        ),
    )


def _at_kit_size(brew: Brew, volume_l: float) -> Brew:
    if volume_l == brew.finished_volume_l:
        return brew
    try:
        return scaled(brew, finished_volume_l=volume_l).brew
    except ValueError as problem:
        raise Refusal(
            "size-impossible",
            f"The method cannot be brewed at {volume_l:g} L: {problem}.",
            "Change the size of the kit or the hops of the method.",
        ) from problem


def _line_amounts(
    kit: Kit, content: MethodContent, brew: Brew, pouch_step_mg: int, division_mg: int
) -> Iterator[_Amount]:
    """Yield the method's lines at the kit's size; the brew holds them in the same order."""
    volume_l = kit.volume / UL_PER_L
    by_volume = kit.volume / content["finished_volume"]
    fermentables = iter(brew.fermentables)
    hops = iter(zip(brew.hops, hop_additions(brew), strict=True))
    for line, known in zip(kit.method.lines.all(), content["lines"], strict=True):
        if is_fermentable(known):
            exact = next(fermentables).kg * MG_PER_KG
            yield _in_stock(line, exact, GRIST_STEP_MG, "the grain scale")
        elif is_hop(known):
            hop, addition = next(hops)
            weighed = _in_stock(line, hop.grams * MG_PER_G, pouch_step_mg, "the pouch scale")
            yield replace(
                weighed,
                role=hop.role.value,
                alpha=hop.alpha,
                ibu_per_gram=addition.ibu_per_gram(volume_l),
            )
        else:
            yield _in_stock(line, line.quantity * by_volume, division_mg, "the scale")


def _in_stock(line: Line, exact: float, mass_step_mg: int, scale: str) -> _Amount:
    steps = {
        Measure.MASS: (mass_step_mg, scale),
        Measure.VOLUME: (LIQUID_STEP_UL, "the syringe"),
        Measure.COUNT: (1, "counting"),
    }
    step, named = steps[Measure(line.item.measure)]
    return _Amount(item=line.item, part="packed", exact=exact, step=step, scale=named, line=line)


def _yeast_amounts(kit: Kit, content: MethodContent, og: float) -> Iterator[_Amount]:
    options = kit.method.revision.yeasts.all()
    for option, yeast in zip(options, content["yeasts"], strict=True):
        exact, packs, reason = _pitch(yeast, kit.volume / UL_PER_L, plato_from_sg(og))
        yield _Amount(
            item=option.item,
            part=kit.yeast_part,
            exact=exact,
            step=1,
            scale="counting",
            packs=packs,
            reason=reason,
        )


def _pitch(yeast: YeastContent, volume_l: float, plato: float) -> tuple[float, int, str]:
    """Return packs as a fraction and whole, of fresh yeast, and the reason in words."""
    if yeast["form"] == YeastForm.LIQUID:
        cells, pack = yeast["pitch_million"], yeast["cells_per_pack"]
        needed = cells_needed(pitch_rate_million=cells, volume_l=volume_l, plato=plato)
        working = liquid_pitch(
            pitch_rate_million=cells,
            volume_l=volume_l,
            plato=plato,
            cells_per_pack=pack,
            viability=1.0,
        )
        said = f"{needed / 1e9:.0f} billion cells wanted, {pack / 1e9:.0f} billion in a fresh pack"
    else:
        dose, pack = yeast["dose_g_per_hl"], yeast["pack_grams"]
        needed = dry_grams_needed(dose_g_per_hl=dose, volume_l=volume_l)
        working = dry_pitch(
            dose_g_per_hl=dose, volume_l=volume_l, grams_per_pack=pack, activity=1.0
        )
        said = f"{needed:.1f} g wanted, {pack:g} g in a pack"
    packs = int(working.value)
    return needed / pack, packs, f"{said}: {packs} whole"


def _part_amounts(kit: Kit) -> Iterator[_Amount]:
    for part in kit.parts.all():
        yield _Amount(
            item=part.item, part=part.part, exact=float(part.quantity), step=1, scale="counting"
        )


def _rows(amounts: list[_Amount]) -> tuple[BillRow, ...]:
    numbers: dict[str, Iterator[int]] = {}
    rows = []
    for position, amount in enumerate(amounts, start=1):
        prefix = _KEYS.get(ItemKind(amount.item.kind), amount.item.kind)
        number = next(numbers.setdefault(prefix, count(1)))
        rows.append(_row(amount, key=f"{prefix}-{number}", position=position))
    return tuple(rows)


def _row(amount: _Amount, *, key: str, position: int) -> BillRow:
    item, line = amount.item, amount.line
    packed, reason = _packed(amount)
    return BillRow(
        bill_line_id=None,
        line_id=line.pk if line else None,
        key=key,
        position=position,
        item_id=item.pk,
        item_code=item.code,
        item_name=item.name,
        item_kind=item.kind,
        measure=Measure(item.measure),
        use=line.use if line else _use_of(item),
        minutes=line.minutes if line else 0,
        part=amount.part,
        exact=amount.exact,
        packed=packed,
        reason=reason,
        overage=item.overage,
        role=amount.role,
        reference_alpha=amount.alpha,
        ibu_per_gram=amount.ibu_per_gram,
        is_yeast_option=amount.packs is not None,
    )


def _use_of(item: Item) -> str:
    return Use.FERMENTER.value if item.kind == ItemKind.YEAST else ""


def _packed(amount: _Amount) -> tuple[int, str]:
    """Return what goes in one kit, and why it is not the exact amount."""
    if amount.packs is not None:
        return amount.packs, amount.reason
    wanted = BillLine(
        key="",
        code=amount.item.code,
        measure=Measure(amount.item.measure),
        quantity=amount.exact,
        resolution=amount.step,
        overage=0.0,
        part=amount.part,
        scale=amount.scale,
    )
    (row,) = bill((wanted,), kits=1)
    return row.packed_per_kit, row.reason
