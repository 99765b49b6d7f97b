"""Work on lots themselves: what repacking, milling, decanting, blending and breaking down share.

One posting holds the whole work: what was taken goes into production, what was made comes out, and
what was lost goes to waste, to the last milligram. The lots that are made carry the cost of all
that went in, loss too. What a lot of one origin is made of goes on from it (``Lot.from_lot``): it
takes over its dates and supplier, what was measured of that lot is true of it
(``queries/lineage.py``), and it ages on from where that lot stood. No best-before day
gets later. The three kinds that turn one lot into another are in ``repacking.py``.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db import IntegrityError, transaction

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory import events
from inventory.ageing.freshness import ClockKind, clock, last_fresh_day
from inventory.models import (
    WORKS,
    Conversion,
    ConversionKind,
    ConversionState,
    Item,
    ItemKind,
    Lot,
    LotStatus,
    Packing,
    Place,
    PlaceKind,
    Posting,
    PostingKind,
)
from inventory.models.fixed import fixed_place
from inventory.models.routes import USES
from inventory.queries.conversions import expected_loss
from inventory.services.balances import Lots, lock_lots
from inventory.services.entries import amount, check_choice, check_quantity, check_reason
from inventory.services.ledger import MoveAsked, begin_posting, reverse_posting, write_moves

_TRIES = 5
_MARKS = {
    ConversionKind.REPACK: "REPACK",
    ConversionKind.MILL: "MILL",
    ConversionKind.DECANT: "DECANT",
    ConversionKind.BLEND: "BLEND",
    ConversionKind.BREAK_DOWN: "BREAK",
    ConversionKind.TRIAL: "TRIAL",
    ConversionKind.DISPATCH: "DISPATCH",
}
TAKEN_BACK = "The work that made it was taken back."


@dataclass(frozen=True, kw_only=True)
class Taken:
    """How much of a lot the work takes, and the storage place it is taken from."""

    lot_id: int
    quantity: int
    place: Place


@dataclass(frozen=True, kw_only=True)
class Made:
    """The lot that the work makes: its code, how much came out, and where it is put."""

    code: str
    quantity: int
    place: Place


@dataclass(frozen=True, kw_only=True)
class WorkMove:
    """A quantity of a lot, by the kinds of place or the storage places it goes between."""

    lot: Lot
    quantity: int
    start: Place | PlaceKind
    end: Place | PlaceKind


def begin_work(
    *,
    by: User,
    kind: ConversionKind,
    occurred_on: date,
    key: str,
    asked: Mapping[str, Any],
    reason: str,
    posted_as: PostingKind = PostingKind.CONVERSION,
) -> tuple[Conversion, Posting, bool]:
    """Return the work and the posting of this key, and whether they had been made before."""

    def begin(conversion: Conversion | None) -> tuple[Conversion, Posting, bool]:
        posting, again = begin_posting(
            by=by,
            key=key,
            kind=posted_as,
            occurred_on=occurred_on,
            asked={"work": kind, **asked},
            reason=reason,
            conversion=conversion,
        )
        if conversion is None:  # the key was another posting's, and that is refused above
            raise AssertionError
        return conversion, posting, again

    earlier = Posting.objects.filter(by=by, key=key).select_related("conversion")
    if not earlier.exists():
        try:
            with transaction.atomic():
                return begin(_open_work(by, kind, occurred_on))
        except Refusal:  # the same request came at the same moment, and was first
            if not earlier.exists():
                raise
    return begin(earlier.get().conversion)


def finish_work(
    *,
    by: User,
    conversion: Conversion,
    posting: Posting,
    moves: Iterable[WorkMove],
    lots: Lots,
    made: Sequence[Lot],
    figures: Mapping[str, Any],
) -> None:
    """Post the moves, end the work, write it down, and tell that new lots may be used."""
    write_moves(posting, [_asked(move) for move in moves if move.quantity], lots)
    conversion.state = ConversionState.DONE
    conversion.save(update_fields=["state", "opened_lot", "best_before_was"])
    write_history(
        by=by,
        thing=conversion,
        action="done",
        after={**figures, "made": [lot.code for lot in made], "posting": posting},
    )
    for lot in made:
        write_history(
            by=by,
            thing=lot,
            action="made",
            after={
                "work": conversion.code,
                "from": lot.from_lot.code if lot.from_lot else "",
                "status": lot.status,
            },
        )
        if lot.status == LotStatus.RELEASED:
            events.lot_released.send(sender=Lot, lot_id=lot.pk, by=by)


@service
def undo_work(
    *, by: User, conversion: Conversion, key: str, reason: str, occurred_on: date | None = None
) -> Posting:
    """Take work on lots back: what it took is stock again, and what it made never was.

    The lots it made are rejected, so that nothing is counted into them. A lot that it opened is
    whole again, unless other work has taken of it since.

    Raises
    ------
    Refusal: no reason, or no such work; or a lot that it made has been used, reserved or shipped.
    """
    check_reason(reason)
    fresh = Conversion.objects.select_for_update(of=("self",), no_key=True).get(pk=conversion.pk)
    posting = fresh.postings.filter(kind=PostingKind.CONVERSION).first()
    if fresh.kind not in WORKS or posting is None:
        raise Refusal(
            "work-of-another-kind",
            f"Work {fresh.code} is no work on lots that is done.",
            "Undo a packing on the page of its run; cancel what is still open.",
        )
    lock_lots(posting.moves.values_list("lot_id", flat=True))
    reversal = reverse_posting(
        by=by, posting=posting, key=key, reason=reason, work=fresh, occurred_on=occurred_on
    )
    for lot in fresh.outputs.exclude(status=LotStatus.REJECTED).order_by("pk"):
        _change(by, lot, "rejected", status=LotStatus.REJECTED, status_reason=TAKEN_BACK)
    _close_again(by, fresh)
    return reversal


def continued(source: Lot, *, conversion: Conversion, on: date, **facts: Any) -> Lot:
    """Return a lot, not yet written, that goes on from another: its dates, supplier and clocks."""
    taken_over = (
        *("item", "supplier", "supplier_lot", "packaged_on", "packing", "form"),
        *("crushed_on", "opened_on", "best_before_on", "status"),
    )
    wanted = {name: getattr(source, name) for name in taken_over} | facts
    lot = Lot(**wanted, received_on=on, made_by=conversion, from_lot=source)
    lot.best_before_on = keeps_until(
        lot.item, [lot.best_before_on], crushed_on=lot.crushed_on, opened_on=lot.opened_on
    )
    return lot


def keeps_until(
    item: Item, days: Iterable[date | None], *, crushed_on: date | None, opened_on: date | None
) -> date | None:
    """Return the earliest of best-before days and of the ends of the crushed and opened life."""
    first = last_fresh_day(
        [
            clock(ClockKind.CRUSHED, crushed_on, item.crushed_days),
            clock(ClockKind.OPENED, opened_on, item.opened_days),
        ]
    )
    ends = [*days, first.last_day if first else None]
    return min((day for day in ends if day is not None), default=None)


def lost_of(item: Item, *, taken: int, made: int, left: int = 0) -> int:
    """Return what the work lost: what was taken is what was made, what is left and what is lost."""
    lost = taken - made - left
    if lost < 0:
        came_out = f"{amount(made, item)} was made"
        if left:
            came_out += f" and {amount(left, item)} is left"
        raise Refusal(
            "more-out-than-in",
            f"{amount(taken, item)} of {item.name} was taken, {came_out}: that is "
            f"{amount(-lost, item)} more than went in.",
            "Weigh again what was taken and what came of it, and correct the amounts.",
            details={"taken": taken, "made": made, "left": left, "lost": lost},
        )
    return lost


def check_loss(item: Item, *, worked: int, lost: int, reason: str) -> None:
    """Refuse a loss above what is expected that nobody gave a reason for."""
    expected = expected_loss(item, worked)
    if lost > expected and not reason.strip():
        raise Refusal(
            "loss-without-reason",
            f"{amount(lost, item)} of {item.name} was lost, and {amount(expected, item)} is "
            f"expected of {amount(worked, item)}.",
            "Say in a few words where the rest went, or correct the amounts.",
            details={"lost": lost, "expected": expected},
        )


def check_packing(item: Item, packing: str) -> None:
    """Refuse hops without a packing, and a packing of anything else."""
    check_choice(packing, ["", *Packing], "packing")
    if bool(packing) != (item.kind == ItemKind.HOP):
        raise Refusal(
            "packing-of-hops-only",
            f"{item.name} was given the packing {packing}."
            if packing
            else f"No packing was given for {item.name}.",
            "Say how hops are packed, which sets how fast they age; of anything else say nothing.",
        )


def shared_out(total: int, weights: Sequence[int]) -> list[int]:
    """Return a whole number shared in proportion to whole weights; the shares add up to it.

    >>> shared_out(100, [1, 1, 1])
    [33, 33, 34]
    >>> shared_out(7, [0, 0])
    [0, 0]
    """
    whole = sum(weights)
    shares, before = [], 0
    for weight in weights:
        after = before + weight
        shares.append(total * after // whole - total * before // whole if whole else 0)
        before = after
    return shares


def open_lot(*, by: User, conversion: Conversion, lot: Lot, on: date) -> None:
    """Start the opened life of a lot that keeps the rest of a container, if it has not begun."""
    if lot.opened_on is not None:
        return
    until = keeps_until(lot.item, [lot.best_before_on], crushed_on=None, opened_on=on)
    _check_not_used_after(lot, until)
    conversion.opened_lot, conversion.best_before_was = lot, lot.best_before_on
    _change(by, lot, "opened", opened_on=on, best_before_on=until)


def _check_not_used_after(lot: Lot, until: date | None) -> None:
    """Refuse to open a lot on a day so long past that it was used after its opened life."""
    uses = Posting.objects.filter(moves__lot=lot, moves__to_place__kind__in=USES)
    last = uses.exclude(kind=PostingKind.REVERSAL).order_by("-occurred_on").first()
    if until is not None and last is not None and last.occurred_on > until:
        raise Refusal(
            "lot-used-since",
            f"Opened then, lot {lot.code} would keep until {until}, and it was used on "
            f"{last.occurred_on}.",
            "Give the day it was really opened, or make what is left a lot of its own.",
            details={"lot": lot.code, "until": until.isoformat()},
        )


def _close_again(by: User, work: Conversion) -> None:
    """Undo the opening of a lot by work that never was, if no other work has taken of it since."""
    lot = work.opened_lot
    if lot is None or lot.made_by_id == work.pk or lot.opened_on is None:
        return
    others = Posting.objects.filter(
        moves__lot=lot,
        kind=PostingKind.CONVERSION,
        conversion__kind__in=WORKS,
        occurred_on__gte=lot.opened_on,
        reversed_by__isnull=True,
    )
    if not others.exclude(conversion=work).exclude(conversion=lot.made_by).exists():
        _change(by, lot, "closed-again", opened_on=None, best_before_on=work.best_before_was)


def _change(by: User, lot: Lot, action: str, **changes: Any) -> None:
    """Change a lot that is held."""
    change_version(by=by, thing=lot, expected=lot.version, action=action, changes=changes)


def _open_work(by: User, kind: ConversionKind, on: date) -> Conversion:
    """Begin work named for its kind and day; of two people at once, one takes the next number."""
    stem = f"{_MARKS[kind]}-{on:%y%m%d}-"
    for _ in range(_TRIES):
        number = Conversion.objects.filter(code__startswith=stem).count() + 1
        try:
            with transaction.atomic():
                work = Conversion.objects.create(code=f"{stem}{number}", kind=kind)
        except IntegrityError:
            continue
        write_history(by=by, thing=work, action="opened", after={"code": work.code, "kind": kind})
        return work
    raise Refusal(
        "work-code-taken",
        f"Others began work of this kind at the same moment, up to {stem}{number}.",
        "Send it again.",
    )


def _asked(move: WorkMove) -> MoveAsked:
    check_quantity(move.quantity, f"move of lot {move.lot.code}")
    start, end = (
        side if isinstance(side, Place) else fixed_place(side) for side in (move.start, move.end)
    )
    return MoveAsked(
        lot_id=move.lot.pk, quantity=move.quantity, from_place_id=start.pk, to_place_id=end.pk
    )
