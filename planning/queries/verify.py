"""Whether batches, their reservations, their sheets and the ledger tell the same story."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass

from django.db.models import Prefetch, Sum

from boxwort.accounts.services import fingerprint
from boxwort.quantities import Measure, read_naturally
from inventory.models import ConversionState, Ending, Move, PlaceKind
from planning.engine.usage import quantity_needed
from planning.models import Allocation, Batch, BatchState, RunState, SheetRevision
from planning.queries.batches import frozen_row

_WORK = {
    BatchState.RESERVED: ConversionState.OPEN,
    BatchState.PACKED: ConversionState.DONE,
    BatchState.CANCELLED: ConversionState.CANCELLED,
}
_WITHOUT_STOCK = {RunState.PLANNED, RunState.CANCELLED}


@dataclass(frozen=True, kw_only=True)
class BatchCheck:
    """What was looked at, and a plain sentence for everything that differs."""

    batches: int
    sheets: int
    differences: tuple[str, ...]


def batch_check() -> BatchCheck:
    """Compare every batch with its sheet, its reservations and its moves; six statements.

    What a batch consumed = its kits x the amount on its sheet, with overage, + the differences
    recorded when it was packed.
    """
    batches = list(
        Batch.objects.order_by("code")
        .select_related("conversion", "run_line__run")
        .prefetch_related(
            Prefetch(
                "allocations",
                Allocation.objects.filter(current=True)
                .select_related("lot__item", "bill_line", "reservation")
                .prefetch_related("bill_line__substitutes"),
            ),
            Prefetch("sheets", SheetRevision.objects.order_by("number")),
        )
    )
    consumed = _consumed()
    differences = [
        sentence
        for batch in batches
        for sentence in (
            *_state_differences(batch),
            *_chain_differences(batch),
            *_sheet_differences(batch),
            *_reservation_differences(batch),
            *_move_differences(batch, consumed[batch.conversion_id]),
        )
    ]
    return BatchCheck(
        batches=len(batches),
        sheets=sum(len(batch.sheets.all()) for batch in batches),
        differences=tuple(differences),
    )


def _consumed() -> defaultdict[int, dict[int, int]]:
    """Return what packing took of each lot, by conversion; what was reversed is left out."""
    moves = Move.objects.filter(
        posting__conversion__batch__isnull=False,
        posting__reverses__isnull=True,
        posting__reversed_by__isnull=True,
        from_place__kind=PlaceKind.STORAGE,
    )
    totals = moves.values_list("posting__conversion_id", "lot_id").annotate(total=Sum("quantity"))
    found: defaultdict[int, dict[int, int]] = defaultdict(dict)
    for conversion_id, lot_id, total in totals.order_by():
        found[conversion_id][lot_id] = int(total)
    return found


def _state_differences(batch: Batch) -> Iterator[str]:
    run, work = batch.run_line.run, batch.conversion
    if work.state != _WORK[BatchState(batch.state)]:
        yield (
            f"Batch {batch.code} is {batch.get_state_display().lower()}, and its work in the stock "
            f"room is {work.get_state_display().lower()}."
        )
    if run.state in _WITHOUT_STOCK and batch.state != BatchState.CANCELLED:
        yield (
            f"Run {run.code} is {run.get_state_display().lower()}, and its batch {batch.code} is "
            f"{batch.get_state_display().lower()}."
        )


def _chain_differences(batch: Batch) -> Iterator[str]:
    previous = ""
    for sheet in batch.sheets.all():
        mark = fingerprint({"content": sheet.content, "previous": previous})
        if sheet.previous_digest != previous or sheet.digest != mark:
            yield f"Sheet {sheet.number} of batch {batch.code} was changed after it was issued."
        previous = sheet.digest


def _sheet_differences(batch: Batch) -> Iterator[str]:
    standing = [sheet for sheet in batch.sheets.all() if sheet.voided_at is None]
    if len(standing) != (batch.state != BatchState.CANCELLED):
        yield f"Batch {batch.code} has {len(standing)} sheets to weigh by."
        return
    for sheet in standing:
        said = {line["key"]: (line["per_kit"], line["minutes"]) for line in sheet.content["lines"]}
        allotted = {row.bill_line.key for row in batch.allocations.all()}
        for line in sheet.content["lines"]:
            if line["per_kit"] and line["key"] not in allotted and not line["at_dispatch"]:
                yield (
                    f"Sheet {sheet.number} of batch {batch.code} asks for {line['key']}, of which "
                    "no lot is allotted."
                )
        for row in batch.allocations.all():
            minutes = row.bill_line.minutes if row.minutes is None else row.minutes
            if said.get(row.bill_line.key) != (row.per_kit, minutes):
                yield (
                    f"Sheet {sheet.number} of batch {batch.code} does not say what is allocated "
                    f"for {row.bill_line.key}."
                )


def _reservation_differences(batch: Batch) -> Iterator[str]:
    lines: dict[str, list[Allocation]] = defaultdict(list)
    for row in batch.allocations.all():
        lines[row.bill_line.key].append(row)
        if (row.reservation.lot_id, row.reservation.quantity) != (row.lot_id, row.quantity):
            yield f"Batch {batch.code} reserved of lot {row.lot.code} what it does not say."
        kept = {BatchState.RESERVED: ("", Ending.LOST), BatchState.PACKED: (Ending.USED,)}
        if row.reservation.ending not in kept.get(BatchState(batch.state), ()):
            ending = row.reservation.ending or "still open"
            yield f"Lot {row.lot.code} of batch {batch.code}: its reservation is {ending}."
    for key, rows in lines.items():
        asked = quantity_needed(batch.kits, rows[0].per_kit, frozen_row(rows[0]).overage)
        if sum(row.quantity for row in rows) != asked:
            yield f"Batch {batch.code} does not hold {batch.kits} kits' worth of {key}."


def _move_differences(batch: Batch, consumed: dict[int, int]) -> Iterator[str]:
    if batch.state != BatchState.PACKED:
        return
    used: dict[int, int] = defaultdict(int)
    for row in batch.allocations.all():
        used[row.lot_id] += row.used or 0
    for row in batch.allocations.all():
        said, moved = used.pop(row.lot_id, None), consumed.get(row.lot_id, 0)
        if said is not None and said != moved:
            measure = Measure(row.lot.item.measure)
            yield (
                f"Batch {batch.code} says it used {read_naturally(said, measure)} of lot "
                f"{row.lot.code}; the ledger moved {read_naturally(moved, measure)}."
            )
