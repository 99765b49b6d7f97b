"""The ledger: postings of moves, each whole or not at all, each once, and none ever changed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from dataclasses import asdict
from datetime import date
from typing import Any

from django.db import IntegrityError, transaction

from boxwort.accounts.models import User
from boxwort.accounts.services import fingerprint, service, write_history
from boxwort.errors import Refusal
from inventory import events
from inventory.models import (
    Balance,
    Conversion,
    ConversionState,
    Lot,
    LotStock,
    Move,
    PlaceKind,
    Posting,
    PostingKind,
)
from inventory.models.routes import OF_WORK, ROUTES, SOURCES, USES
from inventory.queries.lineage import heirs
from inventory.services.balances import (
    Lots,
    MoveAsked,
    Places,
    lock_lots,
    places_of,
    shift_balances,
)
from inventory.services.entries import (
    REASON_LENGTH,
    check_choice,
    check_key,
    check_not_to_come,
    check_quantity,
    check_text,
)
from inventory.services.usability import check_received, check_usable

__all__ = [
    "MoveAsked",
    "begin_posting",
    "check_owner",
    "post_moves",
    "reverse_posting",
    "tell_moved",
    "write_moves",
]


@service
def post_moves(
    *,
    by: User,
    kind: PostingKind,
    occurred_on: date,
    moves: Sequence[MoveAsked],
    key: str,
    reason: str = "",
    conversion: Conversion | None = None,
) -> Posting:
    """Post moves of stock, all of them or none. Asked again with the same key, it is done once.

    Raises
    ------
    Refusal: a place of the wrong kind, stock that is not there, not available, not released,
        expired or not yet received; or the key was used for another posting.
    """
    check_choice(kind, ROUTES, "kind of posting")
    asked = {"moves": [asdict(move) for move in moves]}
    posting, again = begin_posting(
        by=by,
        key=key,
        kind=kind,
        occurred_on=occurred_on,
        asked=asked,
        reason=reason,
        conversion=conversion,
    )
    if again:
        return posting
    if not moves:
        raise Refusal("nothing-to-post", "No moves were given.", "Say what moves where.")
    write_moves(posting, moves, lock_lots(move.lot_id for move in moves))
    write_history(by=by, thing=posting, action="posted", after={"kind": kind, **asked})
    return posting


@service
def reverse_posting(
    *,
    by: User,
    posting: Posting,
    key: str,
    reason: str,
    occurred_on: date | None = None,
    work: Conversion | None = None,
) -> Posting:
    """Post the moves of a posting backwards, on the day they happened unless another is given.

    Expiry and status are not asked. The posting of finished work is reversed only by the owner of
    that ``work``, who names it; it is cancelled then.

    Raises
    ------
    Refusal: it was reversed before or is a reversal; what it brought in has been used, reserved
        or shipped since; or it belongs to work that was not named.
    """
    check_owner(posting, work)
    on = occurred_on or posting.occurred_on
    reversal, again = begin_posting(
        by=by,
        key=key,
        kind=PostingKind.REVERSAL,
        occurred_on=on,
        asked={"reverses": posting.pk},
        reason=reason,
        conversion=posting.conversion,
        reverses=posting,
    )
    if again:
        return reversal
    moves = _moves_backwards(posting)
    _check_reversible(posting, on, moves)
    lots = lock_lots(move.lot_id for move in moves)
    places = places_of(moves)
    _check_untouched(posting, moves, lots, places)
    _insert(reversal, moves, lots, places)
    if posting.kind in OF_WORK and posting.conversion_id:
        Conversion.objects.filter(pk=posting.conversion_id, state=ConversionState.DONE).update(
            state=ConversionState.CANCELLED
        )
    write_history(by=by, thing=posting, action="reversed", after={"reversal": reversal})
    if posting.kind == PostingKind.TRANSFER:
        for lot in lots.values():
            tell_moved(by=by, lot=lot, on=on)
    return reversal


def tell_moved(*, by: User, lot: Lot, on: date) -> None:
    """Tell that a lot lay elsewhere from a day on, and so did what went on from it since."""
    for lot_id in heirs(lot.pk, on):
        events.lot_moved.send(sender=Lot, lot_id=lot_id, by=by)


def check_owner(posting: Posting, work: Conversion | None) -> None:
    """Refuse to undo the posting of finished work to anybody but the owner of that work."""
    if posting.conversion_id and posting.conversion != work:
        raise Refusal(
            "posting-of-work",
            f"This posting belongs to {posting.conversion}, and is taken back with it.",
            "Undo the work itself: a packing on the page of its run, a dispatch and other work on "
            "its own page.",
        )


def begin_posting(
    *,
    by: User,
    key: str,
    kind: PostingKind,
    occurred_on: date,
    asked: Mapping[str, Any],
    reason: str = "",
    conversion: Conversion | None = None,
    reverses: Posting | None = None,
) -> tuple[Posting, bool]:
    """Return the posting of this key and whether it had been made before.

    ``asked`` is what the person asked for in plain values, not what it came to: the same count
    asked twice is the same posting although the second would find no difference.
    """
    check_key(key)
    check_text(reason, REASON_LENGTH, "The reason")
    check_not_to_come(occurred_on, "posting")
    work = conversion.pk if conversion else None
    mark = fingerprint(
        {"kind": kind, "on": occurred_on, "reason": reason, "conversion": work, **asked}
    )
    try:
        with transaction.atomic():
            posting = Posting.objects.create(
                by=by,
                key=key,
                kind=kind,
                occurred_on=occurred_on,
                fingerprint=mark,
                reason=reason,
                conversion=conversion,
                reverses=reverses,
            )
    except IntegrityError:
        earlier = Posting.objects.filter(by=by, key=key).first()
        if earlier is None and reverses is None:
            raise
        return _same_posting(earlier, key, mark, reverses), True
    return posting, False


def write_moves(posting: Posting, moves: Sequence[MoveAsked], lots: Lots) -> None:
    """Check the moves of a posting against the rules, write them and change the balances."""
    places = places_of(moves)
    for move in moves:
        check_quantity(move.quantity, f"move of lot {lots[move.lot_id].code}")
        _check_route(PostingKind(posting.kind), move, places)
        check_received(lots[move.lot_id], posting.occurred_on)
        if _leaves_for_use(move, places):
            check_usable(lots[move.lot_id], posting.occurred_on)
    _insert(posting, moves, lots, places)


def _insert(posting: Posting, moves: Sequence[MoveAsked], lots: Lots, places: Places) -> None:
    Move.objects.bulk_create(Move(posting=posting, **asdict(move)) for move in moves)
    shift_balances(moves, lots, places)


def _same_posting(
    earlier: Posting | None, key: str, mark: str, reverses: Posting | None
) -> Posting:
    """Return the posting that stood in the way, if it is the very one that was asked for."""
    if earlier is None and reverses is not None:
        raise Refusal(
            "posting-already-reversed",
            f"This posting of {reverses.occurred_on} was reversed before.",
            "Nothing is left to undo; post what is right now instead.",
            details={"posting_id": reverses.pk},
        )
    if earlier is None or earlier.fingerprint != mark:
        raise Refusal(
            "key-used-for-another-posting",
            f"The request key {key} was already used for a different posting.",
            "Send each new posting with a key of its own.",
        )
    return earlier


def _leaves_for_use(move: MoveAsked, places: Places) -> bool:
    return places[move.to_place_id].kind in USES


def _check_route(kind: PostingKind, move: MoveAsked, places: Places) -> None:
    start, end = places[move.from_place_id], places[move.to_place_id]
    if start == end:
        raise Refusal(
            "place-is-the-same",
            f"The stock already lies in {start.name}.",
            "Choose another place to move it to.",
        )
    if (PlaceKind(start.kind), PlaceKind(end.kind)) not in ROUTES.get(kind, frozenset()):
        raise Refusal(
            "place-of-wrong-kind",
            f"{kind.label} does not go from {start.name} to {end.name}.",
            "Choose places that fit what happened.",
            details={"from": start.code, "to": end.code, "kind": kind},
        )


def _moves_backwards(posting: Posting) -> list[MoveAsked]:
    return [
        MoveAsked(
            lot_id=move.lot_id,
            quantity=move.quantity,
            from_place_id=move.to_place_id,
            to_place_id=move.from_place_id,
        )
        for move in posting.moves.order_by("pk")
    ]


def _check_reversible(posting: Posting, on: date, moves: Sequence[MoveAsked]) -> None:
    if posting.kind == PostingKind.REVERSAL:
        raise Refusal(
            "posting-is-a-reversal",
            "A reversal cannot be reversed.",
            "Post what is right now instead.",
            details={"posting_id": posting.pk},
        )
    if on < posting.occurred_on:
        raise Refusal(
            "reversal-before-posting",
            f"The posting happened on {posting.occurred_on}, after {on}.",
            "Give the day of the posting or a later one.",
        )
    if not moves:
        raise Refusal(
            "nothing-to-reverse",
            "This posting moved nothing: the count agreed with the books.",
            "Count the lot again if it was wrong.",
        )


def _check_untouched(
    posting: Posting, moves: Sequence[MoveAsked], lots: Lots, places: Places
) -> None:
    """Refuse to take back stock that the posting brought in and that has been touched since."""
    brought_in = {move.lot_id for move in moves if places[move.to_place_id].kind in SOURCES}
    stocks = LotStock.objects.in_bulk(brought_in)
    used = dict(  # the last of each lot: what is taken back first
        Move.objects.filter(lot__in=brought_in, posting__reversed_by__isnull=True)
        .exclude(posting=posting)
        .exclude(posting__kind__in=[PostingKind.REVERSAL, PostingKind.TRANSFER])
        .order_by("lot", "pk")
        .values_list("lot_id", "posting__conversion__code")
    )
    for lot_id in sorted(brought_in):
        lot = lots[lot_id]
        if stocks[lot_id].reserved:
            raise Refusal(
                "output-reserved",
                f"Lot {lot.code} that this posting brought in is reserved for other work.",
                "Cancel that work first, then reverse this posting.",
                details={"lot": lot.code},
            )
        if lot_id in used:
            raise Refusal(
                "output-used",
                f"Lot {lot.code} that this posting brought in has been used, shipped, counted or "
                "scrapped since.",
                f"Take back {work} first."
                if (work := used[lot_id])
                else "Reverse the later postings of that lot first.",
                details={"lot": lot.code},
            )
    _check_still_there(brought_in, moves, lots, places)


def _check_still_there(
    brought_in: set[int], moves: Sequence[MoveAsked], lots: Lots, places: Places
) -> None:
    """Refuse to take stock back out of a place from which it was carried away since."""
    wanted: dict[tuple[int, int], int] = defaultdict(int)
    for move in moves:
        wanted[move.lot_id, move.from_place_id] += move.quantity
        wanted[move.lot_id, move.to_place_id] -= move.quantity
    held = Balance.objects.filter(lot__in=brought_in, holds_stock=True).order_by("lot", "place")
    for lot_id, place_id, quantity in held.values_list("lot_id", "place_id", "quantity"):
        if quantity < wanted.get((lot_id, place_id), 0):
            lot, place = lots[lot_id], places[place_id]
            raise Refusal(
                "output-carried-away",
                f"Lot {lot.code} that this posting put in {place.name} was carried to another "
                "place since.",
                f"Move it back to {place.name}, then take this back.",
                details={"lot": lot.code, "place": place.code},
            )
