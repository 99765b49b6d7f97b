"""What approved substitutes would do to the kits of a run: weight, stock, figures and allergens."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass

from inventory.models import Item
from inventory.models.items import ALLERGENS
from planning.engine.usage import quantity_needed
from planning.queries.cuts import LinePlan, RunPlan
from recipes.brewing.parity import Parity, parity
from recipes.queries.bills import BillRow, SubstituteRow
from recipes.queries.figures import kept_figures


@dataclass(frozen=True, kw_only=True)
class StandInOffer:
    """An approved substitute for one row of a kit's bill, as a person chooses it.

    Attributes
    ----------
    substitute_id: the frozen row to choose.
    original, per_kit: units of stock for one kit, of what it stands for and of itself.
    needed, usable: for all kits of the line with overage, and released and not reserved.
    in_use: whether the run line uses it now.
    figures: the kit by design beside the kit with this substitute and nothing else in place.
    gained, lost: allergens that come into the box and that leave it.
    """

    run_line_id: int | None
    key: str
    substitute_id: int | None
    stands_for: str
    item_code: str
    item_name: str
    measure: str
    original: int
    per_kit: int
    needed: int
    usable: int
    ratio: float
    note: str
    approved_by: str
    in_use: bool
    figures: Parity
    gained: tuple[str, ...]
    lost: tuple[str, ...]


Allergens = Mapping[int, Collection[str]]


def allergens_by_item(plan: RunPlan) -> Allergens:
    """Return the allergens of everything that the kits of a run hold or could hold."""
    rows = [row.item_id for line in plan.lines for row in line.bill]
    stand_ins = [
        each.item_id for line in plan.lines for found in line.approved.values() for each in found
    ]
    named = Item.objects.filter(pk__in={*rows, *stand_ins}).values_list("pk", "allergens")
    return dict(named)


def offers(line: LinePlan, plan: RunPlan, allergens: Allergens) -> Iterator[StandInOffer]:
    """Yield what may stand for what a line is short of or limited by, and what it uses already."""
    short = {row.item_code for row in plan.shortages}
    in_box = {row.key: row.item_code for row in line.needs.rows}
    for row in line.bill:
        chosen = line.chosen.get(row.key)
        wanted = in_box.get(row.key, row.item_code) in short or bool(line.limits and row.role)
        for substitute in line.approved.get(row.key, ()):
            in_use = chosen is not None and chosen.id == substitute.id
            if in_use or wanted:
                yield _offer(line, plan, row, substitute, allergens, in_use=in_use)


def _offer(
    line: LinePlan,
    plan: RunPlan,
    row: BillRow,
    substitute: SubstituteRow,
    allergens: Allergens,
    *,
    in_use: bool,
) -> StandInOffer:
    kit = line.run_line.kit
    before = _named(line.bill, allergens)
    after = _named([each for each in line.bill if each.key != row.key], allergens).union(
        allergens[substitute.item_id]
    )
    return StandInOffer(
        run_line_id=line.run_line.pk,
        key=row.key,
        substitute_id=substitute.id,
        stands_for=row.item_name,
        item_code=substitute.item_code,
        item_name=substitute.item_name,
        measure=row.measure,
        original=row.packed,
        per_kit=substitute.packed,
        needed=quantity_needed(line.kits, substitute.packed, substitute.overage),
        usable=plan.usable.get(substitute.item_id, 0),
        ratio=substitute.ratio,
        note=substitute.note,
        approved_by=substitute.approved_by,
        in_use=in_use,
        figures=parity(
            kept_figures(kit.figures), substitute.figures, same_yeasts=not row.is_yeast_option
        ),
        gained=tuple(each for each in ALLERGENS if each in after - before),
        lost=tuple(each for each in ALLERGENS if each in before - after),
    )


def _named(rows: Sequence[BillRow], allergens: Allergens) -> set[str]:
    return {each for row in rows for each in allergens[row.item_id]}
