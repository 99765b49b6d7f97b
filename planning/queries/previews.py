"""A cut of a run as people read it before anything is reserved: lots, weights, what is short."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from boxwort.working import Working
from inventory.models import Lot
from planning.models import Run, RunLine
from planning.queries.cuts import (
    BatchPlan,
    LinePlan,
    RunPlan,
    ShortRow,
    Taken,
    lines_plan,
    run_plan,
)
from planning.queries.dispatch_yeast import dispatch_notes
from planning.queries.stand_ins import Allergens, StandInOffer, allergens_by_item, offers
from recipes.queries.bills import BillRow


@dataclass(frozen=True, kw_only=True)
class TakenRow:
    """What a batch would take of one lot for one line, in whole units of stock.

    ``reference`` is the packed amount on the kit's bill and ``per_kit`` the balanced one, as are
    ``recipe_minutes`` and ``minutes`` of an addition that moves in time; ``stands_for`` is the name
    of what a substitute takes the place of;
    ``alpha`` is the lot's share on brew day and ``ibu`` what the addition gives, for hops alone.
    """

    item_code: str
    item_name: str
    stands_for: str
    measure: str
    use: str
    minutes: int
    recipe_minutes: int
    role: str
    lot_id: int
    lot_code: str
    best_before_on: date | None
    reference: int
    per_kit: int
    quantity: int
    alpha: float | None
    ibu: float | None

    @property
    def moved(self) -> bool:
        """Whether the weight differs from the one on the kit's bill."""
        return self.per_kit != self.reference


@dataclass(frozen=True, kw_only=True)
class BatchPreview:
    """A batch as it would be reserved; bitterness in IBU."""

    kits: int
    brew_on: date
    hops: tuple[TakenRow, ...]
    others: tuple[TakenRow, ...]
    ibu_target: float
    ibu_reference: float
    ibu_balanced: float
    ibu_spread: float
    working: Working


@dataclass(frozen=True, kw_only=True)
class LinePreview:
    """One kit of the run: ``possible`` of the ``kits`` asked for, in batches.

    ``offers`` is the substitutes that could help, and those in use; ``yeast_note`` is what to
    order where no lot here gives its pitch to a yeast that goes in at dispatch.
    """

    kit_code: str
    kit_name: str
    kits: int
    possible: int
    batches: tuple[BatchPreview, ...]
    limits: tuple[str, ...]
    remedies: tuple[str, ...]
    offers: tuple[StandInOffer, ...]
    yeast_note: str


@dataclass(frozen=True, kw_only=True)
class RunPreview:
    """Everything that reserving would do, or why it cannot."""

    lines: tuple[LinePreview, ...]
    shortages: tuple[ShortRow, ...]
    complete: bool

    @property
    def yeast_notes(self) -> tuple[str, ...]:
        """What to order for the yeasts that go in at dispatch."""
        return tuple(line.yeast_note for line in self.lines if line.yeast_note)


def run_preview(run: Run) -> RunPreview:
    """Return the cut of a planned run from today's stock."""
    return _preview(run_plan(run), run.pack_on)


def asked_preview(lines: Iterable[RunLine], pack_on: date) -> RunPreview:
    """Return the same for kits that are only being thought about; nothing is saved."""
    return _preview(lines_plan(list(lines), pack_on), pack_on)


def _preview(plan: RunPlan, pack_on: date) -> RunPreview:
    taken = [row for line in plan.lines for batch in line.batches for row in batch.taken]
    lots = Lot.objects.in_bulk({row.lot_id for row in taken})
    allergens = allergens_by_item(plan)
    notes = dispatch_notes([line.run_line for line in plan.lines], pack_on)
    return RunPreview(
        lines=tuple(
            _line(line, lots, plan, allergens, note)
            for line, note in zip(plan.lines, notes, strict=True)
        ),
        shortages=plan.shortages,
        complete=plan.complete,
    )


def _line(
    line: LinePlan, lots: Mapping[int, Lot], plan: RunPlan, allergens: Allergens, yeast_note: str
) -> LinePreview:
    item = line.run_line.kit.item
    bill = {row.key: row for row in line.needs.rows}
    return LinePreview(
        kit_code=item.code,
        kit_name=item.name,
        kits=line.kits,
        possible=line.possible,
        batches=tuple(_batch(batch, lots, bill) for batch in line.batches),
        limits=line.limits,
        remedies=line.remedies,
        offers=tuple(offers(line, plan, allergens)),
        yeast_note=yeast_note,
    )


def _batch(batch: BatchPlan, lots: Mapping[int, Lot], bill: Mapping[str, BillRow]) -> BatchPreview:
    bitterness = {row.line: row.ibu_after for row in batch.balance.rows}
    rows = [
        _taken(row, lots[row.lot_id], bill[row.key], bitterness.get(row.key)) for row in batch.taken
    ]
    return BatchPreview(
        kits=batch.kits,
        brew_on=batch.brew_on,
        hops=tuple(row for row in rows if row.role),
        others=tuple(row for row in rows if not row.role),
        ibu_target=batch.balance.ibu_target,
        ibu_reference=batch.balance.ibu_unchanged,
        ibu_balanced=batch.balance.ibu_corrected,
        ibu_spread=batch.balance.spread_ibu,
        working=batch.balance.working,
    )


def _taken(row: Taken, lot: Lot, line: BillRow, ibu: float | None) -> TakenRow:
    return TakenRow(
        item_code=line.item_code,
        item_name=line.item_name,
        stands_for=line.stands_for,
        measure=line.measure,
        use=line.use,
        minutes=line.minutes if row.minutes is None else row.minutes,
        recipe_minutes=line.minutes,
        role=line.role,
        lot_id=lot.pk,
        lot_code=lot.code,
        best_before_on=lot.best_before_on,
        reference=line.packed,
        per_kit=row.per_kit,
        quantity=row.quantity,
        alpha=row.alpha,
        ibu=ibu,
    )
