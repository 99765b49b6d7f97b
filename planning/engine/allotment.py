"""Allotment: one line of a run cut into batches, each from one set of hop and yeast lots."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from planning.engine.balance import Balance, HopLine, Limit
from planning.engine.cutting import Cutting, Lots, Stretch, oldest_sets, oldest_within_limits
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheet, KitSheets
from planning.engine.lots import first_expired_first_out
from planning.engine.shortage import Shortage
from planning.engine.usage import quantity_needed


@dataclass(frozen=True, kw_only=True)
class BatchDraw:
    """What one line of a batch takes from its lot.

    ``per_kit`` is what stands on the sheet and ``quantity`` what is to be reserved: kits x
    ``per_kit`` with the overage, rounded up. ``line`` is the hop line, or the item itself.
    """

    item: str
    line: str
    lot: int
    per_kit: int
    quantity: int


@dataclass(frozen=True, kw_only=True)
class BatchCut:
    """Kits in a row packed from one lot of each hop and yeast: one sheet is right for all."""

    kits: int
    lots: Mapping[str, int]
    weights: Mapping[str, int]
    balance: Balance
    draws: tuple[BatchDraw, ...]


@dataclass(frozen=True, kw_only=True)
class Allotment:
    """The batches of one run line.

    Attributes
    ----------
    batches: in the order they are packed; with ``short``, those that are possible.
    minimum_kits: the least kits of a batch that was kept to. It is below what was asked for only
        where kits would otherwise be lost.
    short: items that do not reach for all kits; empty when every kit has its lots.
    limits: why lots were passed over: their balanced weight may not be packed.
    """

    batches: tuple[BatchCut, ...]
    minimum_kits: int
    short: tuple[Shortage, ...] = ()
    limits: tuple[Limit, ...] = ()

    @property
    def kits(self) -> int:
        """Kits in all batches."""
        return sum(batch.kits for batch in self.batches)

    @property
    def taken(self) -> dict[int, int]:
        """Whole units of stock by lot, to be left out when the next run line is allotted."""
        taken: dict[int, int] = {}
        for batch in self.batches:
            for draw in batch.draws:
                taken[draw.lot] = taken.get(draw.lot, 0) + draw.quantity
        return taken


def allot(
    *,
    kits: int,
    hop_lines: Sequence[HopLine],
    bound_items: Mapping[str, int],
    lots_by_item: Mapping[str, Iterable[BoundLot]],
    on: date,
    target_ibu: float,
    resolution_mg: int,
    minimum_kits: int,
    overage: Mapping[str, float] | None = None,
    current_mg: Mapping[str, int] | None = None,
    current_minutes: Mapping[str, int] | None = None,
    most: float = 2.0,
    division_mg: int = 100,
) -> Allotment:
    """Return the batches in which the kits are packed, from lots usable on that day.

    The most kits first, then few batches, then the oldest lots; no lot gives more than it has.
    A lot whose balanced weight would break a limit is passed over. A batch under
    ``minimum_kits`` is made only where kits would otherwise be lost. The choice is greedy: it
    is always valid, and one batch wherever one is possible (of the first thousands of sets of
    lots), but a search may save a change.

    Parameters
    ----------
    kits: kits of the run line, at least one.
    hop_lines: hop additions with their ``item``; their alpha is the planning alpha.
    bound_items: other items bound to one lot a batch, with the quantity a kit takes.
    lots_by_item: candidate lots of every hop and bound item.
    on: the day of packing.
    overage: share by item that is reserved on top of what stands on the sheet.
    target_ibu, resolution_mg, current_mg, current_minutes, most, division_mg: as for
        :func:`planning.engine.balance.balance`.
    """
    if kits < 1 or minimum_kits < 1 or min(bound_items.values(), default=1) < 1:
        msg = "kits, the minimum of kits and what a kit takes of a bound item are at least one"
        raise ValueError(msg)
    if not all(line.item for line in hop_lines):
        msg = "every hop line needs the item it is weighed from"
        raise ValueError(msg)
    kit = BoundKit(
        target_ibu=target_ibu,
        hop_lines=hop_lines,
        bound_items=bound_items,
        resolution_mg=resolution_mg,
        overage=overage or {},
        current_mg=current_mg,
        current_minutes=current_minutes,
        most=most,
        division_mg=division_mg,
    )
    sheets = KitSheets(kit)
    usable = {
        item: first_expired_first_out(lot for lot in lots_by_item.get(item, ()) if lot.usable(on))
        for item in kit.items
    }
    stretches, minimum = stretches_of(kit, sheets, usable, kits, minimum_kits)
    batches = batches_of(sheets, stretches)
    short, limits = _lacking(kit, sheets, usable, kits, sum(batch.kits for batch in batches))
    return Allotment(batches=batches, minimum_kits=minimum, short=short, limits=limits)


def batches_of(sheets: KitSheets, stretches: Iterable[Stretch]) -> tuple[BatchCut, ...]:
    """Return the batches of stretches that were chosen, each with the exact weights of its lots."""
    return tuple(_batch(stretch, sheets.of(stretch.lots)) for stretch in stretches)


def stretches_of(
    kit: BoundKit,
    sheets: KitSheets,
    usable: Mapping[str, Sequence[BoundLot]],
    kits: int,
    minimum_kits: int,
) -> tuple[list[Stretch], int]:
    """Return the stretches and the minimum they keep to; the most kits come first.

    ``usable`` is the lots of each item that may be used on the day, first expired first.
    """

    def cut(wanted: int, minimum: int) -> list[Stretch]:
        search = Cutting(kit=kit, sheets=sheets, lots_by_item=usable, minimum_kits=minimum)
        return search.stretches(wanted)

    def total(stretches: list[Stretch]) -> int:
        return sum(stretch.kits for stretch in stretches)

    minimum = min(minimum_kits, kits)
    careful = cut(kits, minimum)
    if total(careful) == kits:
        return careful, minimum
    loose = cut(kits, 1)
    possible = total(loose)
    careful = max(careful, cut(possible, min(minimum, possible)), key=total)
    if total(careful) >= possible:
        return careful, max(1, min(minimum, possible))
    return loose, 1


def _batch(stretch: Stretch, sheet: KitSheet) -> BatchCut:
    return BatchCut(
        kits=stretch.kits,
        lots={item: lot.lot for item, lot in stretch.lots.items()},
        weights=sheet.balance.weights,
        balance=sheet.balance,
        draws=tuple(
            BatchDraw(
                item=item,
                line=line,
                lot=stretch.lots[item].lot,
                per_kit=each,
                quantity=quantity_needed(stretch.kits, each, sheet.overage.get(item, 0.0)),
            )
            for item, lines in sheet.per_kit.items()
            for line, each in lines.items()
        ),
    )


def _lacking(
    kit: BoundKit,
    sheets: KitSheets,
    usable: Mapping[str, Sequence[BoundLot]],
    kits: int,
    made: int,
) -> tuple[tuple[Shortage, ...], tuple[Limit, ...]]:
    """Return which items held the kits back, and the limits that passed lots over."""
    if made == kits:
        return (), ()
    limits: dict[Limit, None] = {}
    stocked = {item: lots for item, lots in usable.items() if lots}
    beside = oldest_within_limits(sheets, stocked) or next(oldest_sets(stocked))
    rows = [_reach(item, usable[item], beside, sheets, kits, limits) for item in kit.items]
    short = [row for row in rows if row.kits_possible < kits]
    if not short:
        fewest = min(row.available - row.needed for row in rows)
        short = [
            replace(row, kits_possible=made) for row in rows if row.available - row.needed == fewest
        ]
    return tuple(short), tuple(limits)


def _reach(
    item: str,
    lots: Sequence[BoundLot],
    beside: Lots,
    sheets: KitSheets,
    kits: int,
    limits: dict[Limit, None],
) -> Shortage:
    """Return how far an item reaches beside old lots of the others.

    What is missing is counted at the planning alpha. Limits that a lot meets are added to
    ``limits`` and the lot does not count; a limit that others meet anyway is not its doing.
    """
    usual = sheets.of(beside)
    of_others = {limit.line for limit in usual.balance.limits} - usual.per_kit[item].keys()
    possible = needed = available = 0
    for lot in lots:
        sheet = sheets.of({**beside, item: lot})
        met = [limit for limit in sheet.balance.limits if limit.line not in of_others]
        if met:
            limits.update(dict.fromkeys(met))
            continue
        more = sheet.kits_from(item, lot.available, kits - possible)
        possible += more
        needed += sheet.needed(item, more)
        available += lot.available
    needed += sheets.of({}).needed(item, kits - possible)
    return Shortage(item=item, needed=needed, available=available, kits_possible=possible)
