"""What happened to a lot: its moves, analyses and reservations."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime

from django.db.models import Q, QuerySet

from inventory.models import Analysis, AnalysisKind, Move, PlaceKind, Reservation
from inventory.models.analyses import ANALYSIS_UNITS
from inventory.queries.lineage import generations, kin


@dataclass(frozen=True, kw_only=True)
class MoveRow:
    """A move with the posting it belongs to, in whole units of the lot's measure.

    ``change`` is what it did to the stock on hand over all storage places, ``on_hand`` what there
    was after it.
    """

    posting_id: int
    kind: str
    kind_name: str
    occurred_on: date
    recorded_at: datetime
    by: str
    quantity: int
    change: int
    on_hand: int
    from_name: str
    from_kind: str
    to_name: str
    to_kind: str
    reason: str
    conversion: str
    reverses_id: int | None
    reversed_by_id: int | None


@dataclass(frozen=True, kw_only=True)
class AnalysisRow:
    """A measured value with its unit; ``superseded`` once another one stands in its place.

    ``given_value`` and ``given_unit`` are the paper's, where it writes another unit. ``lot_code``
    is the lot it was measured on.
    """

    lot_code: str

    id: int
    kind: str
    kind_name: str
    sampled_on: date
    value: float
    unit: str
    given_value: float | None
    given_unit: str
    spread: float | None
    method: str
    basis: str
    at_harvest: bool
    by: str
    recorded_at: datetime
    superseded: bool


@dataclass(frozen=True, kw_only=True)
class ReservationRow:
    """What is kept of a lot for a line of work; ``ending`` is empty while it is open."""

    id: int
    conversion: str
    line: str
    quantity: int
    needed_on: date
    made_at: datetime
    ended_at: datetime | None
    ending: str
    ending_name: str


def moves_of(lot_id: int) -> list[MoveRow]:
    """Return the moves of a lot in the order they were posted; one statement."""
    moves = (
        Move.objects.filter(lot=lot_id)
        .select_related(
            "posting__by", "posting__conversion", "posting__reversed_by", "from_place", "to_place"
        )
        .order_by("pk")
    )
    on_hand, rows = 0, []
    for move in moves:
        on_hand += _change(move)
        rows.append(_move_row(move, on_hand))
    return rows


def analyses_of(lot_id: int) -> list[AnalysisRow]:
    """Return the analyses of a lot, by kind and newest sample first; one statement."""
    return _analysis_rows(Analysis.objects.filter(lot=lot_id))


def inherited_analyses_of(lot_id: int) -> list[AnalysisRow]:
    """Return what stands of the lots that a lot goes on from, as far as it is true of it.

    Two statements. What was sampled of those lots after it parted from them is their own affair.
    """
    made = {lot.pk: (lot.from_lot_id, lot.begun_on) for lot in kin([lot_id])}
    of_elders = Q(pk__in=[])
    for step in generations(lot_id, made)[:-1]:
        of_elders |= Q(lot=step.lot_id, sampled_on__lte=step.until)
    return _analysis_rows(Analysis.objects.filter(of_elders, analysis__isnull=True))


def _analysis_rows(analyses: QuerySet[Analysis]) -> list[AnalysisRow]:
    rows = analyses.select_related("by", "analysis", "lot").order_by("kind", "-sampled_on", "-pk")
    return [
        AnalysisRow(
            lot_code=row.lot.code,
            id=row.pk,
            kind=row.kind,
            kind_name=AnalysisKind(row.kind).label,
            sampled_on=row.sampled_on,
            value=row.value,
            unit=ANALYSIS_UNITS[AnalysisKind(row.kind)],
            given_value=row.given_value,
            given_unit=row.given_unit,
            spread=row.spread,
            method=row.get_method_display(),
            basis=row.get_basis_display(),
            at_harvest=row.at_harvest,
            by=row.by.get_username(),
            recorded_at=row.recorded_at,
            superseded=hasattr(row, "analysis"),
        )
        for row in rows
    ]


def reservations_of(lot_id: int) -> list[ReservationRow]:
    """Return the reservations of a lot, the open ones first; one statement."""
    rows = Reservation.objects.filter(lot=lot_id).select_related("conversion").order_by("pk")
    found = [
        ReservationRow(
            id=row.pk,
            conversion=row.conversion.code,
            line=row.line,
            quantity=row.quantity,
            needed_on=row.needed_on,
            made_at=row.made_at,
            ended_at=row.ended_at,
            ending=row.ending,
            ending_name=row.get_ending_display(),
        )
        for row in rows
    ]
    return sorted(found, key=lambda row: row.ended_at is not None)


def _change(move: Move) -> int:
    into = move.to_place.kind == PlaceKind.STORAGE
    out_of = move.from_place.kind == PlaceKind.STORAGE
    return move.quantity * (into - out_of)


def _move_row(move: Move, on_hand: int) -> MoveRow:
    posting = move.posting
    reversal = getattr(posting, "reversed_by", None)
    return MoveRow(
        posting_id=posting.pk,
        kind=posting.kind,
        kind_name=posting.get_kind_display(),
        occurred_on=posting.occurred_on,
        recorded_at=posting.recorded_at,
        by=posting.by.get_username(),
        quantity=move.quantity,
        change=_change(move),
        on_hand=on_hand,
        from_name=move.from_place.name,
        from_kind=move.from_place.kind,
        to_name=move.to_place.name,
        to_kind=move.to_place.kind,
        reason=posting.reason,
        conversion=posting.conversion.code if posting.conversion else "",
        reverses_id=posting.reverses_id,
        reversed_by_id=reversal.pk if reversal else None,
    )
