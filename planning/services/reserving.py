"""Reserving a run: batches, lots, weights and sheets, all or nothing; and giving it all back."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from datetime import date
from functools import partial

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, in_one_transaction, service
from boxwort.errors import Refusal
from boxwort.quantities import read_naturally
from inventory.models import Conversion, ConversionKind
from inventory.services.balances import lock_lots
from inventory.services.conversions import (
    Want,
    cancel_conversion,
    open_conversion,
    reserve_lots,
)
from inventory.services.entries import REASON_LENGTH, check_text
from planning.models import Allocation, Batch, BatchState, Proposal, ProposalState, Run, RunState
from planning.queries.cuts import BatchPlan, LinePlan, RunPlan, Taken, outdated_lots, run_plan
from planning.services.holding import hold_run, read_run
from planning.services.sheets import issue_sheet, void_sheet

_TRIES = 3
_CHANGED_MEANWHILE = {
    "not-enough-available",
    "lot-not-released",
    "lot-expired",
    "lot-analysed-meanwhile",
}


def reserve_run(
    *,
    by: User,
    run: Run,
    expected: int,
    cut: RunPlan | None = None,
    again: Callable[[Run], RunPlan] | None = None,
) -> list[Batch]:
    """Reserve everything a planned run packs, or nothing.

    The cut is worked out before the transaction. What another run took in between, the ledger
    refuses; weights for an alpha acid that is no longer the lot's are refused here; and the cut
    is then made again. A caller that opens a transaction of its own hands in a ``cut`` read
    before it, so that nothing is worked out inside. ``again`` makes the cut where there is none,
    or where it did not hold, otherwise than from all lots that are there.

    Raises
    ------
    Refusal: ``run-short`` with what, how much and how many kits are possible; or the run is not
        planned, or was changed by someone else.
    """
    for tried in range(1, _TRIES + 1):
        read_run(run)
        _refuse_unplanned(run)
        cut = cut or (again or run_plan)(run)
        if not cut.complete:
            raise _short(run, cut)
        try:
            return in_one_transaction(partial(_reserve, by, run, expected, cut))
        except Refusal as refusal:
            if refusal.code not in _CHANGED_MEANWHILE or tried == _TRIES:
                raise
            cut = None
    raise AssertionError  # pragma: no cover - the loop returns or raises


def _reserve(by: User, run: Run, expected: int, plan: RunPlan) -> list[Batch]:
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="reserve run",
        changes={"state": RunState.RESERVED},
    )
    _hold_lots(plan, run.pack_on)
    number = Batch.objects.filter(run_line__run=run).count()
    batches: list[Batch] = []
    for line in plan.lines:
        for batch_plan in line.batches:
            number += 1
            batches.append(_make_batch(by, run, line, batch_plan, number))
    return batches


def _refuse_unplanned(run: Run) -> None:
    if run.state != RunState.PLANNED:
        raise Refusal(
            "run-not-planned",
            f"Run {run.code} is {run.get_state_display().lower()}, not planned.",
            "Only a planned run can be reserved.",
        )


def _hold_lots(plan: RunPlan, pack_on: date) -> None:
    """Hold every lot of the run at once, and see that each is what the weights were made for."""
    lots = lock_lots(row.lot_id for row in plan.taken)
    outdated = outdated_lots(plan, pack_on)
    if outdated:
        codes = ", ".join(lots[lot_id].code for lot_id in sorted(outdated))
        raise Refusal(
            "lot-analysed-meanwhile",
            f"The alpha acid of {codes} changed while the weights were worked out.",
            "Reserve the run again.",
        )


def _make_batch(by: User, run: Run, line: LinePlan, plan: BatchPlan, number: int) -> Batch:
    code = f"{run.code}-{number:02d}"
    conversion = open_conversion(by=by, code=code, kind=ConversionKind.PACK)
    batch = Batch.objects.create(
        code=code,
        run_line=line.run_line,
        number=number,
        kits=plan.kits,
        brew_on=plan.brew_on,
        conversion=conversion,
    )
    allocate(by=by, batch=batch, conversion=conversion, taken=plan.taken, needed_on=run.pack_on)
    issue_sheet(by=by, batch=batch, balance=plan.balance)
    return batch


@service
def allocate(
    *, by: User, batch: Batch, conversion: Conversion, taken: Sequence[Taken], needed_on: date
) -> None:
    """Reserve lots for a batch and note what each line takes of which lot."""
    wants = [
        Want(line=row.key, lot_id=row.lot_id, quantity=row.quantity, needed_on=needed_on)
        for row in taken
    ]
    today = timezone.localdate()
    reservations = reserve_lots(by=by, conversion=conversion, wants=wants, on=today)
    Allocation.objects.bulk_create(
        Allocation(
            batch=batch,
            bill_line_id=row.bill_line_id,
            lot_id=row.lot_id,
            per_kit=row.per_kit,
            quantity=row.quantity,
            alpha=row.alpha,
            minutes=row.minutes,
            reservation=reservation,
        )
        for row, reservation in zip(taken, reservations, strict=True)
    )


@service
def give_run_back(*, by: User, run: Run, expected: int) -> None:
    """Take a reserved run back to plan: every reservation is given back, every sheet void."""
    hold_run(run)
    _refuse_packed(run, "taken back to plan")
    if run.state not in (RunState.RESERVED, RunState.PACKING):
        raise Refusal(
            "run-not-reserved",
            f"Run {run.code} is {run.get_state_display().lower()}; it holds no stock.",
            "There is nothing to give back.",
        )
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="give run back",
        changes={"state": RunState.PLANNED},
    )
    _give_batches_back(by, run, "taken back to plan")


@service
def cancel_run(*, by: User, run: Run, expected: int, reason: str = "") -> None:
    """Cancel a run; everything it held is given back.

    Raises
    ------
    Refusal: the run is over, or a batch of it was packed.
    """
    check_text(reason, REASON_LENGTH, "The reason")
    hold_run(run)
    if run.state in (RunState.CLOSED, RunState.CANCELLED):
        raise Refusal(
            "run-is-over",
            f"Run {run.code} is {run.get_state_display().lower()} already.",
            "Nothing is left to cancel.",
        )
    _refuse_packed(run, "cancelled")
    change_version(
        by=by,
        thing=run,
        expected=expected,
        action="cancel run",
        changes={"state": RunState.CANCELLED},
    )
    _give_batches_back(by, run, reason or "the run was cancelled")


def give_batch_back(*, by: User, batch: Batch, reason: str) -> None:
    """Cancel a batch that is not packed: reservations ended, sheet void, proposals stale."""
    cancel_conversion(by=by, conversion=batch.conversion)
    batch.allocations.filter(current=True).update(current=False)
    void_sheet(by=by, batch=batch, reason=reason)
    Proposal.objects.filter(batch=batch, state=ProposalState.OPEN).update(state=ProposalState.STALE)
    change_version(
        by=by,
        thing=batch,
        expected=batch.version,
        action="cancel batch",
        changes={"state": BatchState.CANCELLED},
    )


def _give_batches_back(by: User, run: Run, reason: str) -> None:
    waiting = Batch.objects.select_for_update().filter(run_line__run=run, state=BatchState.RESERVED)
    for batch in waiting.order_by("pk"):
        give_batch_back(by=by, batch=batch, reason=reason)


def _refuse_packed(run: Run, verb: str) -> None:
    packed = Batch.objects.filter(run_line__run=run, state=BatchState.PACKED).first()
    if packed:
        raise Refusal(
            "batch-already-packed",
            f"Batch {packed.code} of run {run.code} is packed, so the run cannot be {verb}.",
            "Close the run: what is not packed is given back.",
        )


def _short(run: Run, plan: RunPlan) -> Refusal:
    lacking = "; ".join(
        f"{row.item_name}: {read_naturally(row.short, row.measure)} short"
        if row.short
        else f"{row.item_name}: enough, but not in lots that can be used together"
        for row in plan.shortages
    )
    possible = ", ".join(
        f"{line.possible} of {line.kits} {line.run_line.kit.item.code}" for line in plan.lines
    )
    limits = [limit for line in plan.lines for limit in line.limits]
    return Refusal(
        "run-short",
        f"Run {run.code} cannot be reserved. {' '.join([f'{lacking}.', *limits])}",
        f"Possible now: {possible}. Pack fewer kits, release a lot, "
        "use an approved substitute where there is one, or buy what is short.",
        details={
            "shortages": [
                {
                    "item": row.item_code,
                    "needed": row.needed,
                    "available": row.available,
                    "short": row.short,
                    "kits_possible": row.kits_possible,
                }
                for row in plan.shortages
            ],
            "possible": {line.run_line.kit.item.code: line.possible for line in plan.lines},
        },
    )
