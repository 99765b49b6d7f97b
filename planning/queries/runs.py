"""Runs, their batches and sheets as people read them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db.models import Count, Prefetch, Q

from boxwort.errors import Refusal
from planning.engine.best_before import BestBefore
from planning.models import (
    Allocation,
    Batch,
    BatchState,
    Proposal,
    ProposalState,
    Run,
    RunLine,
    SheetRevision,
)
from planning.models.runs import OPEN_STATES
from planning.queries.batches import Trouble, frozen_row, troubles
from planning.queries.best_before import best_before_of
from planning.queries.chosen_substitutes import Chosen, chosen_substitutes, in_the_box
from planning.queries.dispatch_yeast import dispatch_notes
from recipes.queries.bills import BillRow, bills_of


@dataclass(frozen=True, kw_only=True)
class RunRow:
    """A run in a list: its day, its state, how many kits in how many batches."""

    id: int
    code: str
    pack_on: date
    state: str
    state_words: str
    kits: int
    lines: str
    batches: int
    proposals: int
    note: str


@dataclass(frozen=True, kw_only=True)
class StandInRow:
    """A substitute that a run line uses for a row of its kit's bill; ``packed`` is for one kit."""

    key: str
    item_name: str
    stands_for: str
    approved_by: str
    packed: int
    measure: str


@dataclass(frozen=True, kw_only=True)
class RunLineRow:
    """A number of one kit in a run."""

    id: int
    kit_id: int
    kit_code: str
    kit_name: str
    kits: int
    yeast_id: int | None
    yeast_name: str
    substitutes: tuple[StandInRow, ...]


@dataclass(frozen=True, kw_only=True)
class AllocationRow:
    """What a batch takes of one lot for one line; quantities in whole units of stock.

    ``minutes`` are those of this batch, which an addition that moves in time may have moved;
    ``stands_for`` is the name of what a substitute takes the place of.
    """

    id: int
    key: str
    item_code: str
    item_name: str
    item_kind: str
    stands_for: str
    measure: str
    use: str
    minutes: int
    recipe_minutes: int
    role: str
    lot_id: int
    lot_code: str
    per_kit: int
    reference: int
    quantity: int
    used: int | None
    alpha: float | None


@dataclass(frozen=True, kw_only=True)
class SheetRow:
    """One revision of a batch's sheet."""

    id: int
    number: int
    digest: str
    issued_at: datetime
    issued_by: str
    voided_at: datetime | None
    void_reason: str
    content: dict[str, Any]


@dataclass(frozen=True, kw_only=True)
class BatchRow:
    """A batch with all it takes, its sheets newest first, and what is wrong with it.

    ``best_before_on`` is the day its kits are dated with, or would be if they were packed on the
    day of the run; ``best_before`` says what sets it. ``yeast_note`` is what to order where no lot
    here gives its pitch to a yeast that goes in at dispatch.
    """

    id: int
    code: str
    number: int
    version: int
    kit_code: str
    kit_name: str
    kits: int
    packed_kits: int | None
    brew_on: date
    state: str
    state_words: str
    allocations: tuple[AllocationRow, ...]
    sheets: tuple[SheetRow, ...]
    troubles: tuple[Trouble, ...]
    proposal_id: int | None
    best_before_on: date | None
    best_before: BestBefore
    yeast_note: str

    @property
    def sheet(self) -> SheetRow | None:
        """The sheet to weigh by; None once the batch is cancelled."""
        return next((sheet for sheet in self.sheets if sheet.voided_at is None), None)


@dataclass(frozen=True, kw_only=True)
class RunDetail:
    """A run whole."""

    id: int
    code: str
    version: int
    pack_on: date
    state: str
    state_words: str
    note: str
    lines: tuple[RunLineRow, ...]
    batches: tuple[BatchRow, ...]

    @property
    def kits(self) -> int:
        """Kits the run is to pack."""
        return sum(line.kits for line in self.lines)


def run_rows(*, only_open: bool = False) -> list[RunRow]:
    """Return runs, the nearest pack date first among the open ones, then the rest."""
    runs = Run.objects.all()
    if only_open:
        runs = runs.filter(state__in=OPEN_STATES)
    counted = runs.annotate(
        batch_count=Count(
            "lines__batches", filter=~Q(lines__batches__state=BatchState.CANCELLED), distinct=True
        ),
        proposal_count=Count(
            "lines__batches__proposals",
            filter=Q(lines__batches__proposals__state=ProposalState.OPEN),
            distinct=True,
        ),
    ).prefetch_related(Prefetch("lines", RunLine.objects.select_related("kit__item")))
    rows = [
        RunRow(
            id=run.pk,
            code=run.code,
            pack_on=run.pack_on,
            state=run.state,
            state_words=run.get_state_display(),
            kits=sum(line.kits for line in run.lines.all()),
            lines=", ".join(f"{line.kits} {line.kit.item.code}" for line in run.lines.all()),
            batches=run.batch_count,
            proposals=run.proposal_count,
            note=run.note,
        )
        for run in counted.order_by("-pack_on", "-pk")
    ]
    return sorted(rows, key=lambda row: (row.state not in OPEN_STATES, _nearness(row)))


def _nearness(row: RunRow) -> int:
    day = row.pack_on.toordinal()
    return day if row.state in OPEN_STATES else -day


def run_detail(run_id: int) -> RunDetail:
    """Return a run with its lines, batches, allocations and sheets.

    Raises
    ------
    Refusal: ``run-not-found``.
    """
    run = Run.objects.filter(pk=run_id).first()
    if run is None:
        raise Refusal("run-not-found", "There is no such run.", "Choose one from the list of runs.")
    lines = list(run.lines.select_related("kit__item", "yeast").order_by("position"))
    bills, chosen = bills_of([line.kit_id for line in lines]), chosen_substitutes(lines)
    return RunDetail(
        id=run.pk,
        code=run.code,
        version=run.version,
        pack_on=run.pack_on,
        state=run.state,
        state_words=run.get_state_display(),
        note=run.note,
        lines=tuple(
            RunLineRow(
                id=line.pk,
                kit_id=line.kit_id,
                kit_code=line.kit.item.code,
                kit_name=line.kit.item.name,
                kits=line.kits,
                yeast_id=line.yeast_id,
                yeast_name=line.yeast.name if line.yeast else "",
                substitutes=tuple(_stand_ins(line, bills[line.kit_id], chosen[line.pk])),
            )
            for line in lines
        ),
        batches=tuple(batch_rows(run_id)),
    )


def _stand_ins(line: RunLine, bill: Sequence[BillRow], chosen: Chosen) -> Iterator[StandInRow]:
    for row in in_the_box(bill, line.yeast_id, chosen):
        if row.substitute_id is not None:
            yield StandInRow(
                key=row.key,
                item_name=row.item_name,
                stands_for=row.stands_for,
                approved_by=chosen[row.key].approved_by,
                packed=row.packed,
                measure=row.measure,
            )


def batch_rows(run_id: int) -> list[BatchRow]:
    """Return the batches of a run, cancelled ones last."""
    batches = list(
        Batch.objects.filter(run_line__run_id=run_id)
        .select_related("run_line__run", "run_line__kit__item")
        .prefetch_related(
            Prefetch(
                "allocations",
                Allocation.objects.filter(current=True)
                .select_related("lot__item", "bill_line__item")
                .prefetch_related("bill_line__substitutes")
                .order_by("bill_line__position", "id"),
            ),
            Prefetch(
                "sheets", SheetRevision.objects.select_related("issued_by").order_by("-number")
            ),
            Prefetch("proposals", Proposal.objects.filter(state=ProposalState.OPEN)),
            "conversion__outputs",
        )
        .order_by("number")
    )
    wrong: dict[int, list[Trouble]] = {}
    for trouble in troubles(batches):
        wrong.setdefault(trouble.batch_id, []).append(trouble)
    dated = best_before_of(batch.pk for batch in batches)
    lines = {row.run_line_id: row.run_line for row in batches if row.state == BatchState.RESERVED}
    pack_on = batches[0].run_line.run.pack_on if batches else date.max
    noted = dict(zip(lines, dispatch_notes(list(lines.values()), pack_on), strict=True))
    rows = [
        _batch_row(
            batch,
            wrong.get(batch.pk, []),
            dated[batch.pk],
            noted.get(batch.run_line_id, "") if batch.state == BatchState.RESERVED else "",
        )
        for batch in batches
    ]
    return sorted(rows, key=lambda row: (row.state == BatchState.CANCELLED, row.number))


def _batch_row(batch: Batch, wrong: list[Trouble], dated: BestBefore, yeast_note: str) -> BatchRow:
    item = batch.run_line.kit.item
    proposal = next(iter(batch.proposals.all()), None)
    made = next(iter(batch.conversion.outputs.all()), None)
    return BatchRow(
        id=batch.pk,
        code=batch.code,
        number=batch.number,
        version=batch.version,
        kit_code=item.code,
        kit_name=item.name,
        kits=batch.kits,
        packed_kits=batch.packed_kits,
        brew_on=batch.brew_on,
        state=batch.state,
        state_words=batch.get_state_display(),
        allocations=tuple(_allocation_row(row) for row in batch.allocations.all()),
        sheets=tuple(sheet_row(sheet) for sheet in batch.sheets.all()),
        troubles=tuple(wrong),
        proposal_id=proposal.pk if proposal else None,
        best_before_on=made.best_before_on if made else dated.day,
        best_before=dated,
        yeast_note=yeast_note,
    )


def _allocation_row(row: Allocation) -> AllocationRow:
    line, item = row.bill_line, row.lot.item
    return AllocationRow(
        id=row.pk,
        key=line.key,
        item_code=item.code,
        item_name=item.name,
        item_kind=item.kind,
        stands_for="" if line.item_id == item.pk else line.item.name,
        measure=item.measure,
        use=line.use,
        minutes=line.minutes if row.minutes is None else row.minutes,
        recipe_minutes=line.minutes,
        role=line.role,
        lot_id=row.lot_id,
        lot_code=row.lot.code,
        per_kit=row.per_kit,
        reference=frozen_row(row).packed,
        quantity=row.quantity,
        used=row.used,
        alpha=row.alpha,
    )


def sheet_row(sheet: SheetRevision) -> SheetRow:
    """Return one revision of a sheet; its issuer must have been read with it."""
    return SheetRow(
        id=sheet.pk,
        number=sheet.number,
        digest=sheet.digest,
        issued_at=sheet.issued_at,
        issued_by=sheet.issued_by.named,
        voided_at=sheet.voided_at,
        void_reason=sheet.void_reason,
        content=sheet.content,
    )
