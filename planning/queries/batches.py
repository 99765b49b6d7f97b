"""Batches as they stand: what is allocated, what is short, what the sheet says."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from django.utils import timezone

from boxwort.figures import on_date
from inventory.models import Ending, LotStatus
from planning.models import Allocation, Batch, BatchState
from recipes.models import KitBillLine, KitBillSubstitute


@dataclass(frozen=True, kw_only=True)
class Trouble:
    """Why an allocation of a batch that is not packed yet cannot be used as it stands."""

    allocation_id: int
    batch_id: int
    lot_id: int
    lot_code: str
    item_name: str
    what: str


def current_allocations(batch_ids: Iterable[int]) -> list[Allocation]:
    """Return what batches take now, in the order of the bill, with lot, item and reservation."""
    rows = Allocation.objects.filter(batch_id__in=list(batch_ids), current=True)
    return list(
        rows.select_related("lot__item", "bill_line__kit", "reservation")
        .prefetch_related("bill_line__substitutes")
        .order_by("batch_id", "bill_line__position", "id")
    )


def frozen_row(row: Allocation) -> KitBillLine | KitBillSubstitute:
    """Return the frozen row that a lot stands for: the bill's, or that of its substitute.

    The lot, the row of the bill and that row's substitutes must have been read with it.
    """
    line = row.bill_line
    stands_in = (each for each in line.substitutes.all() if each.item_id == row.lot.item_id)
    return line if line.item_id == row.lot.item_id else next(stands_in, line)


def troubles(batches: Iterable[Batch]) -> list[Trouble]:
    """Return what stands in the way of packing these batches.

    A reservation lost to a count or rejection, a lot on hold, in quarantine again or rejected,
    or one that will have expired by the pack date, or has by today where that date is gone.
    """
    today = timezone.localdate()
    waiting = {batch.pk: batch for batch in batches if batch.state == BatchState.RESERVED}
    found: list[Trouble] = []
    for row in current_allocations(waiting):
        pack_on = waiting[row.batch_id].run_line.run.pack_on
        best_before = row.lot.best_before_on
        what = ""
        if row.reservation.ending == Ending.LOST:
            what = "is no longer reserved: a count or a rejection took it"
        elif row.lot.status != LotStatus.RELEASED:
            what = f"is {row.lot.get_status_display().lower()}"
        elif best_before is not None and best_before < max(pack_on, today):
            what = f"expires on {on_date(best_before)}, before the run is packed"
        if what:
            found.append(
                Trouble(
                    allocation_id=row.pk,
                    batch_id=row.batch_id,
                    lot_id=row.lot_id,
                    lot_code=row.lot.code,
                    item_name=row.lot.item.name,
                    what=what,
                )
            )
    return found
