"""Packing a reserved run: what was really used is posted, and the finished kits become a lot."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service
from boxwort.errors import Refusal
from boxwort.quantities import Measure, read_naturally
from inventory.models import Lot, Place
from inventory.services.balances import lock_lots
from inventory.services.conversions import Output, Used, complete_conversion
from inventory.services.ledger import reverse_posting
from planning.models import (
    Allocation,
    Batch,
    BatchState,
    Proposal,
    ProposalState,
    Run,
    RunState,
)
from planning.queries.batches import current_allocations, troubles
from planning.queries.best_before import best_before_of
from planning.services.holding import hold_batch, hold_run
from planning.services.reserving import give_batch_back
from planning.services.sheets import void_sheet


@dataclass(frozen=True, kw_only=True)
class Packed:
    """What came of packing a batch: kits made, and what was used where it differs.

    ``used`` maps an allocation's id to whole units of stock; what is not named was used as
    reserved.
    """

    kits: int
    used: Mapping[int, int]


@service
def start_packing(*, by: User, run: Run, expected: int) -> None:
    """Begin to pack a reserved run."""
    hold_run(run)
    if run.state != RunState.RESERVED:
        raise Refusal(
            "run-not-reserved",
            f"Run {run.code} is {run.get_state_display().lower()}, not reserved.",
            "Reserve it first: only what is reserved can be packed.",
        )
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="start packing",
        changes={"state": RunState.PACKING},
    )


@service
def pack_batch(
    *, by: User, batch: Batch, expected: int, packed: Packed, place: Place, on: date, key: str
) -> Lot:
    """Post what a batch really used and make the lot of its finished kits.

    Raises
    ------
    Refusal: the run is not being packed, the batch is short or has a proposal to decide, more
        kits than the batch holds, or the ledger refuses (on hold, expired, not enough).
    """
    hold_batch(batch)
    rows = current_allocations([batch.pk])
    lock_lots(row.lot_id for row in rows)
    _check_packable(batch, packed, rows)
    used = {row.pk: _used(row, packed) for row in rows}
    lot = complete_conversion(
        by=by,
        conversion=batch.conversion,
        used=[
            Used(line=row.bill_line.key, lot_id=row.lot_id, quantity=used[row.pk])
            for row in rows
            if used[row.pk]
        ],
        output=Output(
            code=batch.code,
            item=batch.run_line.kit.item,
            quantity=packed.kits,
            place=place,
            packaged_on=on,
            best_before_on=best_before_of([batch.pk], on)[batch.pk].day,
        ),
        occurred_on=on,
        key=key,
        reason=f"packed {packed.kits} of {batch.kits} kits",
    )
    for row in rows:
        row.used = used[row.pk]
    Allocation.objects.bulk_update(rows, ["used"])
    change_version(
        by=by,
        thing=batch,
        expected=expected,
        action="pack batch",
        changes={"state": BatchState.PACKED, "packed_kits": packed.kits},
    )
    return lot


@service
def close_run(*, by: User, run: Run, expected: int) -> None:
    """Close a run; a batch that was not packed is given back.

    Raises
    ------
    Refusal: the run is not being packed, or nothing of it was packed (cancel it instead).
    """
    hold_run(run)
    if run.state != RunState.PACKING:
        raise Refusal(
            "run-not-packing",
            f"Run {run.code} is {run.get_state_display().lower()}, not being packed.",
            "Only a run that is being packed can be closed.",
        )
    batches = list(Batch.objects.select_for_update().filter(run_line__run=run).order_by("pk"))
    if not any(batch.state == BatchState.PACKED for batch in batches):
        raise Refusal(
            "nothing-packed",
            f"No batch of run {run.code} is packed.",
            "Pack a batch, or cancel the run.",
        )
    for batch in batches:
        if batch.state == BatchState.RESERVED:
            give_batch_back(by=by, batch=batch, reason="the run was closed without it")
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="close run",
        changes={"state": RunState.CLOSED},
    )


@service
def undo_packing(*, by: User, batch: Batch, expected: int, reason: str, key: str) -> None:
    """Reverse a batch packed by mistake: its ingredients are stock again, its kits never were.

    The batch is cancelled, for a reservation never reopens; plan a new run for its kits.

    Raises
    ------
    Refusal: no reason is given, the batch is not packed, or its kits have moved on.
    """
    if not reason.strip():
        raise Refusal(
            "reason-missing",
            f"Undoing the packing of batch {batch.code} needs a reason.",
            "Write in a few words what went wrong; it stays with the ledger.",
        )
    hold_batch(batch)
    if batch.state != BatchState.PACKED:
        raise Refusal(
            "batch-not-packed", f"Batch {batch.code} is not packed.", "There is nothing to undo."
        )
    posting = batch.conversion.postings.filter(reverses__isnull=True).get()
    reverse_posting(by=by, posting=posting, key=key, reason=reason, work=batch.conversion)
    batch.allocations.filter(current=True).update(current=False)
    void_sheet(by=by, batch=batch, reason=reason)
    change_version(
        by=by,
        thing=batch,
        expected=expected,
        action="undo packing",
        changes={"state": BatchState.CANCELLED, "packed_kits": None},
    )


def check_ready(batch: Batch) -> None:
    """Refuse to pack a batch that is not reserved, or whose run is not being packed."""
    run = batch.run_line.run
    if batch.state != BatchState.RESERVED or run.state != RunState.PACKING:
        raise Refusal(
            "batch-not-ready",
            f"Batch {batch.code} is {batch.get_state_display().lower()} and its run is "
            f"{run.get_state_display().lower()}.",
            "A batch is packed once, from reserved, while its run is being packed.",
        )


def _check_packable(batch: Batch, packed: Packed, rows: list[Allocation]) -> None:
    check_ready(batch)
    if not 1 <= packed.kits <= batch.kits:
        raise Refusal(
            "kits-out-of-range",
            f"{packed.kits} kits were packed of a batch of {batch.kits}.",
            f"Write a number from 1 to {batch.kits}; more kits need a run of their own.",
        )
    if not packed.used.keys() <= {row.pk for row in rows}:
        raise Refusal(
            "used-of-another-batch",
            f"Something was noted as used that is not allotted to batch {batch.code}.",
            "Open the batch again, and write what each of its lots gave.",
        )
    if Proposal.objects.filter(batch=batch, state=ProposalState.OPEN).exists():
        raise Refusal(
            "proposal-undecided",
            f"New weights are proposed for batch {batch.code}.",
            "Accept or refuse them first, so that the sheet says what is packed.",
        )
    if trouble := next(iter(troubles([batch])), None):
        raise Refusal(
            "batch-short",
            f"{trouble.item_name}: lot {trouble.lot_code} {trouble.what}.",
            "Release or receive another lot and accept the proposal, or cancel the run.",
        )


def _used(row: Allocation, packed: Packed) -> int:
    quantity = packed.used.get(row.pk, row.quantity)
    if quantity < 0:
        raise Refusal(
            "used-below-zero",
            f"Lot {row.lot.code} cannot have given "
            f"{read_naturally(quantity, Measure(row.lot.item.measure))}.",
            "Write what was really weighed out, or nothing to use the sheet's amount.",
        )
    return quantity
