"""Best-before of batches: how long everything that was weighed into the box holds.

A batch that is packed counts from the day it was packed, any other from the day its run will be.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.utils import timezone

from boxwort.quantities import MG_PER_G
from inventory.ageing.freshness import ClockKind, clock, last_fresh_day
from inventory.models import ItemKind, Lot
from inventory.queries.hops import HopLives, hop_lives
from inventory.queries.yeasts import YeastLives, yeast_lives
from planning.engine.best_before import (
    BestBefore,
    Component,
    best_before,
    bitter_enough,
    lasting,
)
from planning.models import Allocation, Batch
from planning.queries.batches import frozen_row
from planning.queries.pitches import pitch_of
from planning.queries.supply import House, house


@dataclass(frozen=True, kw_only=True)
class _Ageing:
    """What is known of the ageing of every lot in the boxes."""

    hops: HopLives
    yeasts: YeastLives
    rules: House


def best_before_of(batch_ids: Iterable[int], on: date | None = None) -> dict[int, BestBefore]:
    """Return the best-before of batches, as if packed on ``on`` where it is given.

    It takes a fixed number of statements. A batch that holds nothing has no day.
    """
    batches = list(
        Batch.objects.filter(pk__in=list(batch_ids))
        .select_related("run_line__run", "run_line__kit__item")
        .prefetch_related("conversion__outputs")
    )
    rows: dict[int, list[Allocation]] = defaultdict(list)
    taken = Allocation.objects.filter(batch__in=batches, current=True)
    for row in taken.select_related("lot__item", "bill_line__kit").prefetch_related(
        "bill_line__substitutes"
    ):
        rows[row.batch_id].append(row)
    lots = {kind: _lots(rows, kind) for kind in (ItemKind.HOP, ItemKind.YEAST)}
    ageing = _Ageing(
        hops=hop_lives(lots[ItemKind.HOP]),
        yeasts=yeast_lives(lots[ItemKind.YEAST]),
        rules=house(),
    )
    return {
        batch.pk: best_before(
            _components(batch, rows[batch.pk], ageing, on or _pack_day(batch)),
        )
        for batch in batches
    }


def _lots(rows: dict[int, list[Allocation]], kind: ItemKind) -> set[int]:
    return {row.lot_id for found in rows.values() for row in found if row.lot.item.kind == kind}


def _pack_day(batch: Batch) -> date:
    packed = [lot.packaged_on for lot in batch.conversion.outputs.all() if lot.packaged_on]
    return packed[0] if packed else max(batch.run_line.run.pack_on, timezone.localdate())


def _components(
    batch: Batch, rows: Sequence[Allocation], ageing: _Ageing, packed_on: date
) -> Iterator[Component]:
    for row in rows:
        yield from lot_components(row.lot, packed_on)
        if row.bill_line.is_yeast_option and row.lot_id in ageing.yeasts.yeasts:
            yield from _of_yeast(row, ageing, packed_on)
    yield from _of_hops(batch, rows, ageing, packed_on)
    kit = batch.run_line.kit.item
    if kit.shelf_days is not None:
        last = packed_on + timedelta(days=kit.shelf_days)
        yield Component(name="The kit", reason="its own shelf life", last_day=last)


def lot_components(lot: Lot, boxed_on: date) -> Iterator[Component]:
    """Yield how long a lot holds that goes into a box on a day; its item must have been read."""
    item = lot.item
    if lot.best_before_on is not None:
        yield _until(lot, "best before", lot.best_before_on, boxed_on)
    runs_out = last_fresh_day(
        (
            clock(ClockKind.CRUSHED, lot.crushed_on, item.crushed_days),
            clock(ClockKind.OPENED, lot.opened_on, item.opened_days),
            clock(ClockKind.SHELF, lot.packaged_on or lot.received_on, item.shelf_days),
        )
    )
    if runs_out is not None:
        yield _until(lot, runs_out.kind.value, runs_out.last_day, boxed_on)


def _until(lot: Lot, reason: str, last_day: date, packed_on: date) -> Component:
    """Return a lot's component; no box is dated before it was packed."""
    if last_day < packed_on:
        reason, last_day = f"{reason}, over on the pack day", packed_on
    return Component(name=_name(lot), reason=reason, last_day=last_day)


def _of_yeast(row: Allocation, ageing: _Ageing, packed_on: date) -> Iterator[Component]:
    option = row.bill_line

    def pitches_the_floor(day: date) -> bool:
        alive = ageing.yeasts.pitched_on(row.lot_id, packed_on, day, ageing.rules.journey)
        given = pitch_of(option, alive, packs=row.per_kit, asked=frozen_row(row).exact)
        return given.serves

    found = lasting(_name(row.lot), "floor pitch", pitches_the_floor, packed_on)
    if found is not None:
        yield found


def _of_hops(
    batch: Batch, rows: Sequence[Allocation], ageing: _Ageing, packed_on: date
) -> Iterator[Component]:
    target = batch.run_line.kit.target_ibu
    boiled = {
        row: _ibu_per_alpha(row) * ageing.rules.form_factor(ageing.hops, row.lot_id)
        for row in _one_of_each_line(rows)
        if row.lot_id in ageing.hops.hops
    }
    if not target or not boiled:
        return

    def bitter(day: date) -> bool:
        ibu = sum(
            given
            * ageing.hops.on(
                row.lot_id, pack_on=packed_on, brew_on=day, pouch=ageing.rules.pouch
            ).alpha
            for row, given in boiled.items()
            if given
        )
        return bitter_enough(ibu, target)

    found = lasting("Hops", "bitterness, a tenth below the target", bitter, packed_on)
    if found is not None:
        yield found


def _one_of_each_line(rows: Sequence[Allocation]) -> list[Allocation]:
    """Return one allocation of each line: every box holds the line's weight from one lot."""
    return list({row.bill_line_id: row for row in rows}.values())


def _ibu_per_alpha(row: Allocation) -> float:
    """Return the IBU that a box's weight of a line gives for each unit of alpha acid."""
    frozen = frozen_row(row)
    per_gram = frozen.ibu_per_gram or 0.0
    if row.minutes is not None:
        per_gram = dict(frozen.minutes_table).get(row.minutes, per_gram)
    return row.per_kit / MG_PER_G * per_gram


def _name(lot: Lot) -> str:
    return f"{lot.item.name}, lot {lot.code}"
