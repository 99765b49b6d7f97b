"""Proposals as people decide them."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from boxwort.errors import Refusal
from boxwort.working import Working
from planning.models import Proposal, ProposalState


@dataclass(frozen=True, kw_only=True)
class ProposalRow:
    """A proposal: which batch, why, and the bitterness with and without it."""

    id: int
    batch_id: int
    batch_code: str
    run_id: int
    run_code: str
    pack_on: date
    kit_code: str
    kit_name: str
    kits: int
    cause: str
    state: str
    state_words: str
    made_at: datetime
    decided_at: datetime | None
    decided_by: str
    decision_note: str
    ibu_target: float
    ibu_unchanged: float
    ibu_corrected: float
    ibu_spread: float
    rows: tuple[dict[str, Any], ...]
    limits: tuple[str, ...]
    working: Working

    @property
    def changed(self) -> tuple[dict[str, Any], ...]:
        """Only the lines whose lot, weight or boil would change, or that lost their lot."""
        return tuple(
            row
            for row in self.rows
            if row.get("lost")
            or row["old"] != row["new"]
            or row["old_lot"] != row["new_lot"]
            or row.get("old_minutes") != row.get("new_minutes")
        )


def proposal_rows(
    *, only_open: bool = False, state: str = "", most: int | None = 200
) -> list[ProposalRow]:
    """Return proposals, newest first: the open ones, those in a state, or all, up to ``most``."""
    rows = Proposal.objects.all()
    if only_open or state:
        rows = rows.filter(state=state or ProposalState.OPEN)
    return [_row(proposal) for proposal in _joined(rows)[:most]]


def proposal_row(proposal_id: int) -> ProposalRow:
    """Return one proposal.

    Raises
    ------
    Refusal: ``proposal-not-found``.
    """
    for proposal in _joined(Proposal.objects.filter(pk=proposal_id)):
        return _row(proposal)
    raise Refusal(
        "proposal-not-found", "There is no such proposal.", "Choose one from the list of proposals."
    )


def _joined(rows: Any) -> Any:
    return rows.select_related(
        "batch__run_line__run", "batch__run_line__kit__item", "decided_by"
    ).order_by("-pk")


def _row(proposal: Proposal) -> ProposalRow:
    batch = proposal.batch
    run = batch.run_line.run
    item = batch.run_line.kit.item
    decided_by = proposal.decided_by
    return ProposalRow(
        id=proposal.pk,
        batch_id=batch.pk,
        batch_code=batch.code,
        run_id=run.pk,
        run_code=run.code,
        pack_on=run.pack_on,
        kit_code=item.code,
        kit_name=item.name,
        kits=batch.kits,
        cause=proposal.cause,
        state=proposal.state,
        state_words=proposal.get_state_display(),
        made_at=proposal.made_at,
        decided_at=proposal.decided_at,
        decided_by=decided_by.named if decided_by else "",
        decision_note=proposal.decision_note,
        ibu_target=proposal.ibu_target,
        ibu_unchanged=proposal.ibu_unchanged,
        ibu_corrected=proposal.ibu_corrected,
        ibu_spread=proposal.ibu_spread,
        rows=tuple(proposal.rows),
        limits=tuple(proposal.limits),
        working=Working.from_json(proposal.working),
    )
