"""The beer of a batch by the lots it really holds, beside the beer that was designed.

Malt counts by the analyses of its lots (a line of several lots by their shares of it), hops by the
alpha acid that the batch was weighed by, its boil times and the form of its lots, the yeast by the
one chosen. What a lot's analysis does not say, and what is added at dispatch, is the item's
specification.
"""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, fields, replace

from boxwort.errors import Refusal
from boxwort.quantities import MG_PER_G, MG_PER_KG
from boxwort.working import Working
from inventory.queries.grist import MeasuredMalt, measured_lots
from inventory.queries.hops import HopLives, hop_lives
from planning.models import Allocation, Batch
from planning.queries.batches import current_allocations
from planning.queries.chosen_substitutes import chosen_substitutes, in_the_box
from recipes.brewing.bitterness import form_factor_between
from recipes.brewing.extract import Fermentable, measured
from recipes.brewing.figures import Brew, Figures, Hop
from recipes.models import Method
from recipes.queries.bills import BillRow, bills_of
from recipes.queries.contents import (
    LineContent,
    MethodContent,
    StrainContent,
    fermentable_of,
    hop_of,
    is_fermentable,
    is_hop,
    methods_in_full,
)
from recipes.queries.figures import computed, kept_figures
from recipes.queries.packed_brews import Scales, house_scales
from recipes.queries.sized_methods import SizedMethod, sized
from recipes.queries.stand_ins import pitched_with, standing_for

SHOWN = ("og", "fg", "abv", "ibu", "srm")


@dataclass(frozen=True, kw_only=True)
class FigureRow:
    """One figure of the beer from a batch's lots, and by design; each with its working."""

    figure: str
    made: Working
    design: Working

    @property
    def difference(self) -> float:
        """How much more the lots give, in the figure's unit."""
        return self.made.value - self.design.value


@dataclass(frozen=True, kw_only=True)
class BatchFigures:
    """The figures of a batch; ``notes`` say what they rest on, ``problem`` why there are none."""

    rows: tuple[FigureRow, ...]
    notes: tuple[str, ...] = ()
    problem: str = ""


@dataclass(frozen=True, kw_only=True)
class _Known:
    """What is known of the lots of all batches."""

    malts: Mapping[int, MeasuredMalt]
    hops: HopLives
    scales: Scales


@dataclass(frozen=True, kw_only=True)
class _Line:
    """A line of the method as this batch packs it: from lots, or from nothing of ours."""

    content: LineContent
    row: BillRow
    taken: Sequence[Allocation]

    @property
    def amount(self) -> int:
        """What goes in a box, in units of stock."""
        return self.taken[0].per_kit if self.taken else self.row.packed

    @property
    def goods(self) -> LineContent:
        """The line with what stands in for it, if a substitute is used."""
        for substitute in self.content["substitutes"]:
            if substitute["item"] == self.row.item_code:
                return standing_for(self.content, substitute)
        return self.content


def batch_figures(batch_ids: Iterable[int]) -> dict[int, BatchFigures]:
    """Return the figures of batches from their lots; a fixed number of statements."""
    batches = list(
        Batch.objects.filter(pk__in=list(batch_ids)).select_related("run_line__kit__item")
    )
    kits = {batch.run_line.kit_id: batch.run_line.kit for batch in batches}
    methods = {
        method.pk: method
        for method in methods_in_full().filter(pk__in={kit.method_id for kit in kits.values()})
    }
    bills = bills_of(kits)
    used = chosen_substitutes({batch.run_line_id: batch.run_line for batch in batches}.values())
    taken: dict[int, list[Allocation]] = defaultdict(list)
    for row in current_allocations([batch.pk for batch in batches]):
        taken[row.batch_id].append(row)
    lot_ids = {row.lot_id for rows in taken.values() for row in rows}
    known = _Known(malts=measured_lots(lot_ids), hops=hop_lives(lot_ids), scales=house_scales())
    return {
        batch.pk: _figures(
            batch,
            methods[batch.run_line.kit.method_id],
            in_the_box(
                bills[batch.run_line.kit_id], batch.run_line.yeast_id, used[batch.run_line_id]
            ),
            taken[batch.pk],
            known,
        )
        for batch in batches
    }


def _figures(
    batch: Batch, method: Method, bill: Sequence[BillRow], taken: list[Allocation], known: _Known
) -> BatchFigures:
    kit = batch.run_line.kit
    if not taken:
        return BatchFigures(rows=(), problem="The batch holds no lots.")
    try:
        size = sized(method, known.scales, kit.volume)
        lines = _lines(method, size.content, bill, taken)
        made = computed(_pitched(_brewed(size, lines, known), size.content, bill))
    except (Refusal, ValueError) as problem:
        return BatchFigures(rows=(), problem=str(problem))
    design = kept_figures(kit.figures)
    return BatchFigures(
        rows=tuple(
            FigureRow(figure=each.name, made=getattr(made, each.name), design=kept)
            for each in fields(Figures)
            if each.name in SHOWN and (kept := getattr(design, each.name))
        ),
        notes=(*_notes(lines, known), *_elsewhere(lines, size.brew)),
    )


def _lines(
    method: Method, content: MethodContent, bill: Sequence[BillRow], taken: list[Allocation]
) -> list[_Line]:
    rows = {row.line_id: row for row in bill if row.line_id is not None}
    return [
        _Line(
            content=known,
            row=rows[line.pk],
            taken=[each for each in taken if each.bill_line_id == rows[line.pk].bill_line_id],
        )
        for line, known in zip(method.lines.all(), content["lines"], strict=True)
        if line.pk in rows
    ]


def _brewed(size: SizedMethod, lines: Sequence[_Line], known: _Known) -> Brew:
    """Return the brew from the lots; what comes in another box counts as designed."""
    grist = tuple(_fermentable(line, known.malts) for line in lines if is_fermentable(line.content))
    hops = tuple(_hop(line, known) for line in lines if is_hop(line.content))
    return replace(
        size.brew, fermentables=grist or size.brew.fermentables, hops=hops or size.brew.hops
    )


def _pitched(brew: Brew, content: MethodContent, bill: Sequence[BillRow]) -> Brew:
    """Return the brew with the yeast in the box, where it is not the usual one of the design."""
    pitched = {row.item_code for row in bill if row.is_yeast_option}
    strains: list[StrainContent] = [
        strain for yeast in content["yeasts"] for strain in (yeast, *yeast["substitutes"])
    ]
    other = next((strain for strain in strains[1:] if strain["item"] in pitched), None)
    return pitched_with(brew, content, other) if other else brew


def _fermentable(line: _Line, malts: Mapping[int, MeasuredMalt]) -> Fermentable:
    plain = fermentable_of(line.goods, line.amount / MG_PER_KG)
    parts = [(row.quantity, malts[row.lot_id]) for row in line.taken if row.lot_id in malts]
    whole = sum(row.quantity for row in line.taken)

    def mean(reading: str, unread: float) -> float | None:
        """Return the mean over the lots; a lot that was not measured counts as specified."""
        read = [(quantity, getattr(malt, reading)) for quantity, malt in parts]
        if all(value is None for _, value in read):
            return None
        given = math.fsum(mg * value for mg, value in read if value is not None)
        left = whole - sum(mg for mg, value in read if value is not None)
        return (given + left * unread) / whole

    return measured(
        plain,
        extract=mean("points_l_per_kg", plain.points_l_per_kg),
        colour=mean("colour_lovibond", plain.colour_lovibond),
        power=mean("power_lintner", plain.power_lintner),
    )


def _hop(line: _Line, known: _Known) -> Hop:
    plain = hop_of(line.goods, line.amount / MG_PER_G)
    if not line.taken:
        return plain
    row = line.taken[0]
    return replace(
        plain,
        name=f"{plain.name}, lot {row.lot.code}",
        alpha=plain.alpha if row.alpha is None else row.alpha,
        minutes=plain.minutes if row.minutes is None else float(row.minutes),
        form_factor=_form_factor(line, row.lot_id, known),
    )


def _form_factor(line: _Line, lot_id: int, known: _Known) -> float:
    """Return what a lot isomerises next to the form the line was written for."""
    if lot_id not in known.hops.hops:
        return 1.0
    reference = line.content["form"] or known.hops.reference_form(lot_id)
    return form_factor_between(reference, known.hops.form(lot_id), known.scales.form_factors)


def _notes(lines: Sequence[_Line], known: _Known) -> tuple[str, ...]:
    """Say which malt lots were measured, for the others are as the catalogue has them."""
    grist = [row for line in lines if is_fermentable(line.content) for row in line.taken]
    if not grist:
        return ()
    lots = {row.lot.code: known.malts.get(row.lot_id) for row in grist}
    read = [code for code, malt in lots.items() if malt and malt != _UNREAD]
    if not read:
        return ("No malt or extract lot of this batch was analysed: they count as specified.",)
    rest = " The others count as specified." if len(read) < len(lots) else ""
    return (f"Malt and extract by the analyses of {', '.join(read)}.{rest}",)


def _elsewhere(lines: Sequence[_Line], brew: Brew) -> Iterator[str]:
    """Say what of the beer comes in another box, or only when this one leaves."""
    here = [line for line in lines if line.taken]
    if brew.fermentables and not any(is_fermentable(line.content) for line in here):
        yield "Malt and extract are not weighed into this box by the run: they count as designed."
    if brew.hops and not any(is_hop(line.content) for line in here):
        yield "Its hops come in a hop pack with a sheet of its own: they count as designed."


_UNREAD = MeasuredMalt(points_l_per_kg=None, colour_lovibond=None, power_lintner=None)
