"""Which runs hold a lot: what each batch takes of it, and what it really took."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from boxwort.quantities import Measure
from planning.models import Allocation, BatchState


@dataclass(frozen=True, kw_only=True)
class LotRunRow:
    """One batch that takes of a lot; quantities in whole units of ``measure``.

    ``used`` is None until the batch is packed.
    """

    run_id: int
    run_code: str
    batch_code: str
    kit_name: str
    kits: int
    state: str
    state_words: str
    pack_on: date
    measure: Measure
    quantity: int
    used: int | None


def lot_run_rows(lot_id: int) -> list[LotRunRow]:
    """Return the standing and packed batches that take of a lot, by pack date; one statement."""
    rows = (
        Allocation.objects.filter(lot=lot_id, current=True)
        .exclude(batch__state=BatchState.CANCELLED)
        .select_related("lot__item", "batch__run_line__run", "batch__run_line__kit__item")
        .order_by("batch__run_line__run__pack_on", "batch__code", "bill_line__position")
    )
    return [_row(row) for row in rows]


def _row(row: Allocation) -> LotRunRow:
    batch = row.batch
    run = batch.run_line.run
    return LotRunRow(
        run_id=run.pk,
        run_code=run.code,
        batch_code=batch.code,
        kit_name=batch.run_line.kit.item.name,
        kits=batch.kits if batch.packed_kits is None else batch.packed_kits,
        state=batch.state,
        state_words=batch.get_state_display(),
        pack_on=run.pack_on,
        measure=Measure(row.lot.item.measure),
        quantity=row.quantity,
        used=row.used,
    )
