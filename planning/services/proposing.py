"""Writing proposals, and what a person decides about them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from boxwort.jobs.models import Job
from boxwort.jobs.services import ask
from inventory.models import Ending
from inventory.services.balances import lock_lots
from inventory.services.conversions import give_back
from inventory.services.entries import REASON_LENGTH, check_text
from planning.jobs import REBALANCE
from planning.models import Batch, BatchState, Proposal, ProposalState, SheetRevision
from planning.queries.batches import current_allocations
from planning.queries.cuts import Taken
from planning.queries.rebalancing import Change, change_of
from planning.services.reserving import allocate
from planning.services.sheets import issue_sheet, void_sheet


@service
def ask_rebalance(*, by: User, kit_ids: Sequence[int], cause: str) -> list[Job]:
    """Ask for a re-balancing of each kit's reserved batches, one job a kit."""
    return [
        ask(
            kind=REBALANCE,
            key=f"kit:{kit_id}",
            arguments={"kit_id": kit_id, "cause": cause},
            by=by,
        )
        for kit_id in kit_ids
    ]


@service
def write_proposals(*, by: User, changes: Sequence[Change], cause: str) -> dict[str, Any]:
    """Write what re-balancing found: at most one open proposal a batch, the newest.

    A proposal that stands already for the same change is left as it is; one for another change
    goes out of date. For a batch that moved on since it was read, another job is asked for: what
    moved it may have been decided before the cause of this one was known.
    """
    made: list[int] = []
    behind: set[int] = set()
    for change in changes:
        batch = _held(change.batch_id)
        if batch.state != BatchState.RESERVED:
            continue
        if batch.version != change.batch_version:
            behind.add(batch.run_line.kit_id)
        elif proposal := _write_proposal(by, batch, change, cause):
            made.append(proposal.pk)
    ask_rebalance(by=by, kit_ids=sorted(behind), cause=cause)
    return {
        "proposals": made,
        "batches": len(changes),
        "notes": [change.impossible for change in changes if change.impossible],
    }


def _held(batch_id: int) -> Batch:
    held = Batch.objects.select_for_update(of=("self",), no_key=True)
    return held.select_related("run_line__run", "run_line__kit__item", "conversion").get(
        pk=batch_id
    )


def _write_proposal(by: User, batch: Batch, change: Change, cause: str) -> Proposal | None:
    standing = Proposal.objects.filter(batch=batch, state=ProposalState.OPEN).first()
    mark = change.fingerprint
    if standing and standing.fingerprint == mark:
        return None
    if standing:
        standing.state = ProposalState.STALE
        standing.save(update_fields=["state"])
    if change.balance is None or not change.changes_something:
        return None
    balance = change.balance
    proposal = Proposal.objects.create(
        batch=batch,
        batch_version=change.batch_version,
        cause=cause[:200],
        rows=list(change.rows),
        limits=[f"{limit.what} {limit.remedy}" for limit in balance.limits],
        fingerprint=mark,
        ibu_target=balance.ibu_target,
        ibu_unchanged=balance.ibu_unchanged,
        ibu_corrected=balance.ibu_corrected,
        ibu_spread=balance.spread_ibu,
        working=balance.working.as_json(),
    )
    write_history(by=by, thing=proposal, action="propose weights", after={"batch": batch.code})
    return proposal


@service
def accept_proposal(*, by: User, proposal: Proposal, note: str = "") -> SheetRevision:
    """Accept new weights: reservations replaced, the old sheet void, a new one issued.

    Everything happens in one transaction, or nothing: a change that needs more hop than is free
    grows the reservation or cannot be accepted.

    Raises
    ------
    Refusal: the proposal is decided, or out of date because its batch moved on or the lots'
        figures changed again; a weight outside its limits; not enough of a lot.
    """
    batch = _batch_to_decide(proposal)
    _hold_lots(batch, proposal.rows)
    if proposal.limits:
        raise Refusal(
            "weight-outside-limits",
            f"The new weights of batch {batch.code} are outside their limits. "
            f"{' '.join(proposal.limits)}",
            "Release or receive another lot; a new proposal follows by itself.",
        )
    now = change_of(batch)
    if now.balance is None or now.fingerprint != proposal.fingerprint:
        raise Refusal(
            "proposal-out-of-date",
            f"Since this proposal was made, the lots of batch {batch.code} changed again.",
            "Re-balance the kit again and decide the new proposal.",
        )
    _take_rows(by, batch, proposal.rows)
    change_version(
        by=by,
        thing=batch,
        expected=proposal.batch_version,
        action="accept proposal",
        changes={},
    )
    void_sheet(by=by, batch=batch, reason=f"new weights accepted: {proposal.cause}"[:200])
    sheet = issue_sheet(by=by, batch=batch, balance=now.balance)
    _decide(by, proposal, ProposalState.ACCEPTED, note)
    return sheet


@service
def refuse_proposal(*, by: User, proposal: Proposal, note: str = "") -> None:
    """Refuse new weights: the batch keeps its sheet."""
    _batch_to_decide(proposal)
    _decide(by, proposal, ProposalState.REFUSED, note)


def _batch_to_decide(proposal: Proposal) -> Batch:
    batch = _held(proposal.batch_id)
    proposal.refresh_from_db(fields=["state"])
    if proposal.state != ProposalState.OPEN:
        raise Refusal(
            "proposal-decided",
            f"This proposal is {proposal.get_state_display().lower()} already.",
            "Open the batch to see its weights now.",
        )
    if batch.version != proposal.batch_version or batch.state != BatchState.RESERVED:
        raise Refusal(
            "proposal-out-of-date",
            f"Batch {batch.code} changed after this proposal was made.",
            "Re-balance the kit again and decide the new proposal.",
        )
    return batch


def _hold_lots(batch: Batch, rows: Sequence[Mapping[str, Any]]) -> None:
    """Hold the lots of the old weights and of the new: an analysis comes before or after."""
    held = batch.allocations.filter(current=True).values_list("lot_id", flat=True)
    lock_lots({*held, *(row["new_lot_id"] for row in rows)})


def _take_rows(by: User, batch: Batch, rows: Sequence[Mapping[str, Any]]) -> None:
    """Put the changed lines' reservations aside and reserve what the proposal says."""
    changed = {
        row["key"]
        for row in rows
        if row["lost"]
        or any(row[f"old{of}"] != row[f"new{of}"] for of in ("_lot", "", "_alpha", "_minutes"))
    }
    held = [row for row in current_allocations([batch.pk]) if row.bill_line.key in changed]
    give_back(
        by=by,
        conversion=batch.conversion,
        reservation_ids=[row.reservation_id for row in held if not row.reservation.ended_at],
        ending=Ending.REPLACED,
    )
    batch.allocations.filter(pk__in=[row.pk for row in held]).update(current=False)
    allocate(
        by=by,
        batch=batch,
        conversion=batch.conversion,
        taken=[
            Taken(
                key=row["key"],
                bill_line_id=row["bill_line_id"],
                lot_id=row["new_lot_id"],
                per_kit=row["new"],
                quantity=row["quantity"],
                alpha=row["new_alpha"],
                minutes=None if row["new_minutes"] == row["minutes"] else row["new_minutes"],
            )
            for row in rows
            if row["key"] in changed and row["quantity"]
        ],
        needed_on=batch.run_line.run.pack_on,
    )


def _decide(by: User, proposal: Proposal, state: ProposalState, note: str) -> None:
    check_text(note, REASON_LENGTH, "The note")
    proposal.state = state
    proposal.decided_at = timezone.now()
    proposal.decided_by = by
    proposal.decision_note = note
    proposal.save(update_fields=["state", "decided_at", "decided_by", "decision_note"])
    write_history(by=by, thing=proposal, action=f"{state.label.lower()} proposal")
