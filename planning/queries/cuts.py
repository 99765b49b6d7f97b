"""A run cut into batches from the lots that are there today: what would be reserved, or is short.

Read before reserving (the page shows it) and by the service that reserves, which writes exactly
this and lets the ledger refuse what another run took in between.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date

from boxwort.quantities import Measure
from inventory.queries.hops import hop_lives
from planning.engine.allotment import Allotment, BatchCut, allot
from planning.engine.balance import Balance
from planning.engine.chosen_lots import ChosenBatch, cut_as_chosen
from planning.engine.lots import drawn
from planning.engine.shortage import KitLine, run_shortage
from planning.engine.usage import quantity_needed
from planning.models import Run, RunLine
from planning.queries.bound_kits import bound_kit
from planning.queries.chosen_substitutes import Chosen, chosen_substitutes, stand_in_items
from planning.queries.limit_remedies import told_remedies
from planning.queries.supply import (
    House,
    KitNeeds,
    Stock,
    bound_lots,
    brew_day,
    frozen_id,
    hop_line,
    house,
    kit_needs,
    own_target,
    stock_for,
)
from recipes.queries.bills import (
    BillRow,
    SubstituteRow,
    bill_substitutes,
    bills_of,
    with_one_yeast,
)

ChosenLots = Mapping[int, Sequence[ChosenBatch]]
"""By run line: its batches with lots that were chosen before."""


@dataclass(frozen=True, kw_only=True)
class Taken:
    """What a batch takes of one lot for one line of the bill; ``alpha`` is on brew day.

    ``minutes`` is the boil time where it is another than the recipe's.
    """

    key: str
    bill_line_id: int
    lot_id: int
    per_kit: int
    quantity: int
    alpha: float | None = None
    minutes: int | None = None


@dataclass(frozen=True, kw_only=True)
class BatchPlan:
    """A batch as it would be reserved."""

    kits: int
    brew_on: date
    balance: Balance
    taken: tuple[Taken, ...]


@dataclass(frozen=True, kw_only=True)
class LinePlan:
    """A run line as it would be reserved: ``possible`` of its ``kits``, in batches.

    Attributes
    ----------
    needs: what a kit takes from stock, substitutes in place.
    bill: the frozen bill with one yeast, as it was offered.
    approved, chosen: frozen substitutes by key of the bill, and those that the line uses.
    limits, remedies: what may not be packed, and what would help, in sentences.
    """

    run_line: RunLine
    needs: KitNeeds
    bill: Sequence[BillRow]
    approved: Mapping[str, Sequence[SubstituteRow]]
    chosen: Chosen
    kits: int
    possible: int
    batches: tuple[BatchPlan, ...]
    limits: tuple[str, ...]
    remedies: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class ShortRow:
    """An item that a run lacks, in whole units of stock."""

    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    needed: int
    available: int
    short: int
    kits_possible: int


@dataclass(frozen=True, kw_only=True)
class RunPlan:
    """Everything that reserving a run would do, or why it cannot.

    ``usable`` is what could be had of each item before any line took of it.
    """

    lines: tuple[LinePlan, ...]
    shortages: tuple[ShortRow, ...]
    usable: Mapping[int, int]

    @property
    def taken(self) -> tuple[Taken, ...]:
        """Everything that its batches take."""
        return tuple(row for line in self.lines for batch in line.batches for row in batch.taken)

    @property
    def complete(self) -> bool:
        """Whether every kit of every line has its lots."""
        return not self.shortages and all(line.possible == line.kits for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class _Kit:
    """A run line's kit: its bill, what may stand for what, what is taken, and of which lots."""

    bill: Sequence[BillRow]
    approved: Mapping[str, Sequence[SubstituteRow]]
    chosen: Chosen
    needs: KitNeeds
    lots: Sequence[ChosenBatch] | None


@dataclass(kw_only=True)
class _Shortages:
    rows: dict[str, BillRow]
    found: dict[str, ShortRow] = field(default_factory=dict)

    def add(self, code: str, *, needed: int, available: int, kits_possible: int) -> None:
        row = self.rows[code]
        earlier = self.found.get(code)
        self.found[code] = ShortRow(
            item_id=row.item_id,
            item_code=code,
            item_name=row.item_name,
            measure=Measure(row.measure),
            needed=needed + (earlier.needed if earlier else 0),
            available=max(available, earlier.available if earlier else 0),
            short=max(needed - available, 0) + (earlier.short if earlier else 0),
            kits_possible=kits_possible + (earlier.kits_possible if earlier else 0),
        )


def run_plan(run: Run, chosen: ChosenLots | None = None) -> RunPlan:
    """Return how a run would be cut into batches from today's stock, and what it lacks.

    ``chosen`` is lots chosen before, by run line; they are taken as far as they still hold.
    """
    lines = list(run.lines.select_related("kit__item").order_by("position"))
    return lines_plan(lines, run.pack_on, chosen)


def outdated_lots(plan: RunPlan, pack_on: date) -> set[int]:
    """Return the hop lots whose alpha acid on brew day is no longer what the plan weighed for."""
    lives = hop_lives(row.lot_id for row in plan.taken if row.alpha is not None)
    pouch = house().pouch
    return {
        row.lot_id
        for line in plan.lines
        for batch in line.batches
        for row in batch.taken
        if row.alpha is not None
        and row.alpha
        != lives.on(row.lot_id, pack_on=pack_on, brew_on=batch.brew_on, pouch=pouch).alpha
    }


def lines_plan(
    run_lines: list[RunLine], pack_on: date, chosen_lots: ChosenLots | None = None
) -> RunPlan:
    """Return the same for run lines that need not be saved; a run has one line for each kit."""
    kit_ids = [line.kit_id for line in run_lines]
    bills, approved = bills_of(kit_ids), bill_substitutes(kit_ids)
    chosen = chosen_substitutes(run_lines, approved)
    kits = {
        line.kit_id: _Kit(
            bill=with_one_yeast(bills[line.kit_id], line.yeast_id),
            approved=approved[line.kit_id],
            chosen=chosen.get(line.pk, {}),
            needs=kit_needs(bills[line.kit_id], line.yeast_id, chosen.get(line.pk)),
            lots=None if chosen_lots is None else chosen_lots.get(line.pk, ()),
        )
        for line in run_lines
    }
    needs = {kit_id: kit.needs for kit_id, kit in kits.items()}
    stock = stock_for(needs.values(), pack_on, also=stand_in_items(approved))
    rules = house()
    shortages = _Shortages(
        rows={row.item_code: row for need in needs.values() for row in need.rows}
    )
    possible = _divisible_kits(run_lines, needs, stock, pack_on, shortages)
    lines = tuple(
        _line_plan(line, kits[line.kit_id], stock, rules, pack_on, possible[line.kit_id], shortages)
        for line in run_lines
    )
    return RunPlan(
        lines=lines,
        shortages=tuple(shortages.found.values()),
        usable={
            item_id: sum(lot.available for lot in lots) for item_id, lots in stock.lots.items()
        },
    )


def _divisible_kits(
    run_lines: list[RunLine],
    needs: Mapping[int, KitNeeds],
    stock: Stock,
    on: date,
    shortages: _Shortages,
) -> dict[int, int]:
    """Return how many of each kit the divisible items allow, and note what they lack."""
    supplies = {
        row.item_code: stock.supply(row) for need in needs.values() for row in need.divisible
    }
    lacking = run_shortage(
        lines=[
            KitLine(line=str(line.kit_id), kits=line.kits, per_kit=_per_kit(needs[line.kit_id]))
            for line in run_lines
        ],
        lots_by_item=supplies,
        on=on,
        overage={code: share for need in needs.values() for code, share in need.overage.items()},
    )
    for item in lacking.items:
        shortages.add(
            item.item,
            needed=item.needed,
            available=item.available,
            kits_possible=item.kits_possible,
        )
    return {int(line.line): line.possible for line in lacking.lines}


def _per_kit(needs: KitNeeds) -> dict[str, int]:
    per_kit: dict[str, int] = {}
    for row in needs.divisible:
        per_kit[row.item_code] = per_kit.get(row.item_code, 0) + row.packed
    return per_kit


def _line_plan(
    line: RunLine,
    kit: _Kit,
    stock: Stock,
    rules: House,
    pack_on: date,
    possible: int,
    shortages: _Shortages,
) -> LinePlan:
    needs = kit.needs
    brew_on = brew_day(pack_on, line.kit.shelf_days)
    cut = _cut(line, kit, stock, rules, pack_on, brew_on)
    remedies = told_remedies(
        cut.limits,
        needs=needs,
        stock=stock,
        approved=kit.approved,
        target_ibu=own_target(line.kit, needs),
        kits=line.kits,
        pack_on=pack_on,
        brew_on=brew_on,
        rules=rules,
    )
    stock.take(cut.taken)
    rows = {row.item_code: row for row in (*needs.hops, *((needs.yeast,) if needs.yeast else ()))}
    for short in cut.short:
        shortages.add(
            rows[short.item].item_code,
            needed=short.needed,
            available=short.available,
            kits_possible=short.kits_possible,
        )
    batches = tuple(
        BatchPlan(
            kits=batch.kits,
            brew_on=brew_on,
            balance=batch.balance,
            taken=(
                *_bound_taken(batch, needs),
                *_divisible_taken(batch.kits, needs, stock, pack_on, shortages),
            ),
        )
        for batch in cut.batches
    )
    return LinePlan(
        run_line=line,
        needs=needs,
        bill=kit.bill,
        approved=kit.approved,
        chosen=kit.chosen,
        kits=line.kits,
        possible=min(possible, cut.kits),
        batches=batches,
        limits=tuple(f"{limit.what} {limit.remedy}" for limit in cut.limits),
        remedies=remedies,
    )


def _cut(
    line: RunLine, kit: _Kit, stock: Stock, rules: House, pack_on: date, brew_on: date
) -> Allotment:
    needs = kit.needs
    held = bound_lots(needs, stock, pack_on=pack_on, brew_on=brew_on, rules=rules)
    if kit.lots is not None:
        return cut_as_chosen(bound_kit(line.kit, needs, rules), kit.lots, held, pack_on)
    return allot(
        kits=line.kits,
        hop_lines=[hop_line(row) for row in needs.hops],
        bound_items={needs.yeast.item_code: needs.yeast.packed} if needs.yeast else {},
        lots_by_item=held,
        on=pack_on,
        target_ibu=own_target(line.kit, needs),
        resolution_mg=rules.resolution_mg,
        minimum_kits=rules.minimum_kits,
        overage=needs.overage,
        division_mg=rules.division_mg,
        most=rules.most,
    )


def _bound_taken(batch: BatchCut, needs: KitNeeds) -> list[Taken]:
    alphas = {row.line: row.alpha for row in batch.balance.rows}
    by_key = {row.key: row for row in needs.hops}
    if needs.yeast:
        by_key[needs.yeast.item_code] = needs.yeast
    return [
        Taken(
            key=by_key[draw.line].key,
            bill_line_id=frozen_id(by_key[draw.line]),
            lot_id=draw.lot,
            per_kit=draw.per_kit,
            quantity=draw.quantity,
            alpha=alphas.get(draw.line),
            minutes=moved_minutes(by_key[draw.line], batch.balance.minutes.get(draw.line)),
        )
        for draw in batch.draws
        if draw.quantity
    ]


def moved_minutes(row: BillRow, minutes: int | None) -> int | None:
    """Return the boil minutes to keep with a batch: none where they are the recipe's."""
    return None if minutes == row.minutes else minutes


def _divisible_taken(
    kits: int, needs: KitNeeds, stock: Stock, on: date, shortages: _Shortages
) -> list[Taken]:
    """Draw a batch's divisible items; several batches round up more often than one run does."""
    taken: list[Taken] = []
    for row in needs.divisible:
        needed = quantity_needed(kits, row.packed, row.overage)
        draw = drawn(needed, stock.supply(row), on)
        stock.take(dict(draw.rows))
        if draw.short and row.item_code not in shortages.found:
            shortages.add(
                row.item_code,
                needed=needed,
                available=needed - draw.short,
                kits_possible=kits - 1,
            )
        taken += [
            Taken(
                key=row.key,
                bill_line_id=frozen_id(row),
                lot_id=lot_id,
                per_kit=row.packed,
                quantity=quantity,
            )
            for lot_id, quantity in draw.rows
        ]
    return taken
