"""Everything the ledger keeps beside its moves, worked out again from the moves alone.

The moves are replayed in the order they were written, from empty; what the replay comes to is
compared with what is kept, and the rules of the ledger are asked of every posting on the way.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import BigIntegerField, Sum
from django.db.models.functions import Cast

from inventory.models import (
    Balance,
    Conversion,
    Lot,
    LotStock,
    Move,
    PlaceKind,
    Posting,
    PostingKind,
    Reservation,
)
from inventory.models.guards import guards_missing, guards_owed
from inventory.models.routes import ROUTES, USES
from inventory.queries.verify_works import work_differences

Pair = tuple[int, int]
_Path = tuple[int, int, int, int]


@dataclass(frozen=True, kw_only=True)
class StockCheck:
    """What differs, a plain sentence each, and how many of each thing were checked."""

    differences: tuple[str, ...]
    checked: tuple[tuple[str, int], ...]


@dataclass(frozen=True, kw_only=True)
class _Lot:
    code: str
    received_on: date
    best_before_on: date | None


@dataclass(frozen=True, kw_only=True)
class _Moved:
    posting: int
    kind: PostingKind
    occurred_on: date
    lot: int
    quantity: int
    start: int
    start_kind: PlaceKind
    end: int
    end_kind: PlaceKind


@dataclass(frozen=True, kw_only=True)
class _Replay:
    """What the moves come to: (lot, place) balances, on hand by lot, and faults met on the way."""

    balances: dict[Pair, int]
    on_hand: dict[int, int]
    moves: int
    faults: list[str]


def stock_differences() -> list[str]:
    """Return a plain sentence for everything that differs from what the moves say."""
    return list(stock_check().differences)


def stock_check() -> StockCheck:
    """Replay the ledger and compare; a fixed number of statements, rows read one by one."""
    lots = _lots()
    replay = _replayed(lots)
    differences = [
        *replay.faults,
        *_balance_differences(lots, replay),
        *_total_differences(lots, replay),
        *_reversal_differences(),
        *work_differences(),
        *guards_missing(),
    ]
    checked = (
        ("lots", len(lots)),
        ("postings", Posting.objects.count()),
        ("moves", replay.moves),
        ("balances", Balance.objects.count()),
        ("reservations", Reservation.objects.count()),
        ("conversions", Conversion.objects.count()),
        ("guards", guards_owed()),
    )
    return StockCheck(differences=tuple(differences), checked=checked)


def _lots() -> dict[int, _Lot]:
    rows = Lot.objects.values_list("pk", "code", "received_on", "best_before_on")
    return {
        pk: _Lot(code=code, received_on=received_on, best_before_on=best_before_on)
        for pk, code, received_on, best_before_on in rows
    }


def _moves() -> Iterator[_Moved]:
    rows = Move.objects.order_by("posting", "pk").values_list(
        "posting_id",
        "posting__kind",
        "posting__occurred_on",
        "lot_id",
        "quantity",
        "from_place_id",
        "from_place__kind",
        "to_place_id",
        "to_place__kind",
    )
    for posting, kind, on, lot, quantity, start, start_kind, end, end_kind in rows.iterator():
        yield _Moved(
            posting=posting,
            kind=PostingKind(kind),
            occurred_on=on,
            lot=lot,
            quantity=quantity,
            start=start,
            start_kind=PlaceKind(start_kind),
            end=end,
            end_kind=PlaceKind(end_kind),
        )


def _replayed(lots: dict[int, _Lot]) -> _Replay:
    balances: dict[Pair, int] = defaultdict(int)
    on_hand: dict[int, int] = defaultdict(int)
    faults: list[str] = []
    count, posting, touched = 0, 0, dict[Pair, None]()
    for moved in _moves():
        if moved.posting != posting:
            faults.extend(_below_zero(lots, balances, touched, posting))
            posting, touched = moved.posting, {}
        count += 1
        faults.extend(_rule_faults(lots[moved.lot], moved))
        balances[moved.lot, moved.start] -= moved.quantity
        balances[moved.lot, moved.end] += moved.quantity
        if moved.start_kind == PlaceKind.STORAGE:
            touched[moved.lot, moved.start] = None
            on_hand[moved.lot] -= moved.quantity
        if moved.end_kind == PlaceKind.STORAGE:
            on_hand[moved.lot] += moved.quantity
    faults.extend(_below_zero(lots, balances, touched, posting))
    return _Replay(balances=balances, on_hand=on_hand, moves=count, faults=faults)


def _below_zero(
    lots: dict[int, _Lot], balances: dict[Pair, int], touched: dict[Pair, None], posting: int
) -> Iterator[str]:
    """Yield what a whole posting left below zero in the storage places it took from."""
    for lot, place in touched:
        if balances[lot, place] < 0:
            yield (
                f"Posting {posting} took more of lot {lots[lot].code} from place {place} than lay "
                f"there: it left {balances[lot, place]}."
            )


def _rule_faults(lot: _Lot, moved: _Moved) -> Iterator[str]:
    if moved.occurred_on < lot.received_on:
        yield (
            f"Posting {moved.posting} moved lot {lot.code} on {moved.occurred_on}, before its "
            f"receipt on {lot.received_on}."
        )
    if moved.kind == PostingKind.REVERSAL:
        return
    if (moved.start_kind, moved.end_kind) not in ROUTES[moved.kind]:
        yield (
            f"Posting {moved.posting} is a {moved.kind.label.lower()} but moved lot {lot.code} "
            f"from {moved.start_kind.label.lower()} to {moved.end_kind.label.lower()}."
        )
    expired = lot.best_before_on is not None and lot.best_before_on < moved.occurred_on
    if moved.end_kind in USES and expired:
        yield (
            f"Posting {moved.posting} used lot {lot.code} on {moved.occurred_on}, after its "
            f"best-before day {lot.best_before_on}."
        )


def _balance_differences(lots: dict[int, _Lot], replay: _Replay) -> Iterator[str]:
    kept: dict[Pair, int] = {}
    rows = Balance.objects.values_list(
        "lot_id", "place_id", "quantity", "holds_stock", "place__kind"
    )
    for lot, place, quantity, holds_stock, kind in rows:
        kept[lot, place] = quantity
        if holds_stock != (kind == PlaceKind.STORAGE):
            yield f"The balance of lot {lots[lot].code} in place {place} mistakes its kind."
    for lot, place in sorted({*kept, *replay.balances}):
        said, moved = kept.get((lot, place), 0), replay.balances.get((lot, place), 0)
        if said != moved:
            yield (
                f"The balance of lot {lots[lot].code} in place {place} says {said}, and its moves "
                f"add up to {moved}."
            )


def _total_differences(lots: dict[int, _Lot], replay: _Replay) -> Iterator[str]:
    stocks = {
        pk: (on_hand, reserved)
        for pk, on_hand, reserved in LotStock.objects.values_list("pk", "on_hand", "reserved")
    }
    wanted = dict(
        Reservation.objects.filter(ended_at__isnull=True)
        .values("lot")
        .annotate(total=Cast(Sum("quantity"), BigIntegerField()))
        .values_list("lot", "total")
    )
    for pk, lot in lots.items():
        if pk not in stocks:
            yield f"Lot {lot.code} has no stock totals."
            continue
        on_hand, reserved = stocks[pk]
        if on_hand != replay.on_hand.get(pk, 0):
            yield (
                f"Lot {lot.code} says {on_hand} on hand, and its moves add up to "
                f"{replay.on_hand.get(pk, 0)}."
            )
        if reserved != wanted.get(pk, 0):
            yield (
                f"Lot {lot.code} says {reserved} reserved, and its open reservations add up to "
                f"{wanted.get(pk, 0)}."
            )
        if not 0 <= reserved <= on_hand:
            yield f"Lot {lot.code} has {reserved} reserved of {on_hand} on hand."


def _reversal_differences() -> Iterator[str]:
    """Yield each reversal whose moves are not those of its posting, turned round."""
    written: dict[int, Counter[_Path]] = defaultdict(Counter)
    turned: dict[int, Counter[_Path]] = defaultdict(Counter)
    moves = Move.objects.select_related("posting")
    for move in moves.filter(posting__reversed_by__isnull=False).iterator():
        path = (move.lot_id, move.quantity, move.from_place_id, move.to_place_id)
        written[move.posting_id][path] += 1
    for move in moves.filter(posting__reverses__isnull=False).iterator():
        path = (move.lot_id, move.quantity, move.to_place_id, move.from_place_id)
        turned[move.posting.reverses_id or 0][path] += 1
    for posting in sorted({*written, *turned}):
        if written[posting] != turned[posting]:
            yield f"The reversal of posting {posting} does not undo exactly what it moved."
