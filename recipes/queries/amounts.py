"""What goes into a box, row by row: exact amounts of a brew, and the steps they are packed in."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from boxwort.quantities import MG_PER_G, MG_PER_KG, UL_PER_L, Measure
from inventory.models import Item, ItemKind, YeastForm
from recipes.brewing.bill import BillLine, bill
from recipes.brewing.figures import Brew, Figures, hop_additions, ibu_per_gram_by_minute
from recipes.brewing.pitch import cells_needed, dry_grams_needed, dry_pitch, liquid_pitch
from recipes.brewing.roles import HopRole, Use
from recipes.models import KitPart, Line, Substitute
from recipes.queries.bills import BillRow, MinutesTable, SubstituteRow
from recipes.queries.contents import LineContent, StrainContent, is_fermentable, is_hop
from recipes.queries.packed_brews import GRIST_STEP_MG, Scales, boxed

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
class Amount:
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
    minutes_table: MinutesTable = ()
    packs: int | None = None
    packed: int | None = None
    reason: str = ""
    stand_ins: tuple[StandIn, ...] = ()


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """An approved substitute of a row: its own amount, and the figures of the kit with it."""

    substitute: Substitute
    amount: Amount
    figures: Figures


def line_amount(
    line: Line,
    item: Item,
    known: LineContent,
    *,
    brew: Brew,
    place: int,
    size: float,
    scales: Scales,
) -> Amount:
    """Return what a line puts into the box.

    Parameters
    ----------
    item, known: the line's own, or those of a substitute in its place.
    brew: at the kit's size, unrounded.
    place: of the line among the fermentables or the hops of the brew.
    size: the kit's volume for a volume of 1 of the method.
    """
    if is_fermentable(known):
        return _fermentable_amount(line, item, brew, place)
    if is_hop(known):
        return _hop_amount(line, item, known, brew, place, scales)
    exact = known["quantity"] * size
    return _in_stock(line, item, exact, scales.division_mg, "the scale", known["container"])


def _fermentable_amount(line: Line, item: Item, brew: Brew, place: int) -> Amount:
    whole = boxed(brew)
    exact = brew.fermentables[place].kg * MG_PER_KG
    weighed = _in_stock(line, item, exact, GRIST_STEP_MG, "the grain scale")
    return replace(
        weighed,
        packed=whole.packed_mg.get(place),
        reason=whole.reasons.get(place, ""),
    )


def _hop_amount(
    line: Line, item: Item, known: LineContent, brew: Brew, place: int, scales: Scales
) -> Amount:
    hop, addition = brew.hops[place], hop_additions(brew)[place]
    exact, step = hop.grams * MG_PER_G, scales.pouch_step_mg
    weighed = _in_stock(line, item, exact, step, "the pouch scale", known["container"])
    moves = hop.role is HopRole.MOVE_TIME
    return replace(
        weighed,
        role=hop.role.value,
        alpha=hop.alpha,
        ibu_per_gram=addition.ibu_per_gram(brew.finished_volume_l),
        minutes_table=tuple(ibu_per_gram_by_minute(brew, place).items()) if moves else (),
    )


def _in_stock(
    line: Line,
    item: Item,
    exact: float,
    mass_step_mg: int,
    scale: str,
    container: int | None = None,
) -> Amount:
    steps = {
        Measure.MASS: (mass_step_mg, scale),
        Measure.VOLUME: (LIQUID_STEP_UL, "the syringe"),
        Measure.COUNT: (1, "counting"),
    }
    step, named = steps[Measure(item.measure)]
    if container is not None:
        step, named = container, "it is sold whole and"
    return Amount(item=item, part="packed", exact=exact, step=step, scale=named, line=line)


def yeast_amount(
    item: Item, strain: StrainContent, *, part: str, volume: int, plato: float
) -> Amount:
    """Return the packs of a fresh yeast that the wort needs; ``volume`` in microlitres."""
    exact, packs, reason = _pitch(strain, volume / UL_PER_L, plato)
    return Amount(
        item=item, part=part, exact=exact, step=1, scale="counting", packs=packs, reason=reason
    )


def _pitch(yeast: StrainContent, volume_l: float, plato: float) -> tuple[float, int, str]:
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


def part_amount(part: KitPart) -> Amount:
    """Return something in the box beside the lines."""
    return Amount(
        item=part.item, part=part.part, exact=float(part.quantity), step=1, scale="counting"
    )


def bill_rows(amounts: Sequence[Amount]) -> tuple[BillRow, ...]:
    """Return the rows of a bill, each with the key that names it for good."""
    keyed = zip(_keys(amounts), amounts, strict=True)
    return tuple(
        _row(amount, key=key, position=position)
        for position, (key, amount) in enumerate(keyed, start=1)
    )


def substitute_rows_of(amounts: Sequence[Amount]) -> dict[str, tuple[SubstituteRow, ...]]:
    """Return what may stand for each row of a bill, by the row's key."""
    return {
        key: tuple(_substitute_row(each, key) for each in amount.stand_ins)
        for key, amount in zip(_keys(amounts), amounts, strict=True)
        if amount.stand_ins
    }


def _keys(amounts: Iterable[Amount]) -> Iterator[str]:
    numbers: dict[str, Iterator[int]] = {}
    for amount in amounts:
        prefix = _KEYS.get(ItemKind(amount.item.kind), amount.item.kind)
        yield f"{prefix}-{next(numbers.setdefault(prefix, count(1)))}"


def _row(amount: Amount, *, key: str, position: int) -> BillRow:
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
        minutes_table=amount.minutes_table,
    )


def _use_of(item: Item) -> str:
    return Use.FERMENTER.value if item.kind == ItemKind.YEAST else ""


def _substitute_row(stand_in: StandIn, key: str) -> SubstituteRow:
    amount, substitute = stand_in.amount, stand_in.substitute
    packed, reason = _packed(amount)
    person = substitute.approved_by
    return SubstituteRow(
        id=None,
        key=key,
        item_id=amount.item.pk,
        item_code=amount.item.code,
        item_name=amount.item.name,
        item_kind=amount.item.kind,
        ratio=substitute.ratio,
        exact=amount.exact,
        packed=packed,
        reason=reason,
        overage=amount.item.overage,
        reference_alpha=amount.alpha,
        ibu_per_gram=amount.ibu_per_gram,
        minutes_table=amount.minutes_table,
        note=substitute.note,
        approved_by_id=substitute.approved_by_id,
        approved_by=person.named,
        figures=stand_in.figures,
    )


def _packed(amount: Amount) -> tuple[int, str]:
    """Return what goes in one kit, and why it is not the exact amount."""
    if amount.packs is not None:
        return amount.packs, amount.reason
    if amount.packed is not None:
        return amount.packed, amount.reason
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
