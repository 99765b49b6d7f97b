"""Conversions: work that reserves lots, uses them and makes a lot of them.

Work on lots themselves (repack, mill, decant, blend, break down) is in ``works.py``.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import date
from fractions import Fraction
from math import floor

from boxwort.accounts.models import User
from boxwort.accounts.services import service, write_history
from boxwort.errors import Refusal
from inventory.models import (
    Balance,
    Conversion,
    ConversionKind,
    ConversionState,
    Ending,
    Item,
    Lot,
    LotStatus,
    Place,
    PlaceKind,
    PostingKind,
    Reservation,
)
from inventory.models.fixed import fixed_place
from inventory.services.balances import Lots, lock_lots, shift_reserved
from inventory.services.entries import (
    amount,
    check_choice,
    check_code,
    check_not_negative,
    check_quantity,
    check_text,
    lot_facts,
)
from inventory.services.ledger import MoveAsked, begin_posting, write_moves
from inventory.services.lots import new_lot
from inventory.services.reservations import end_reservations, open_reservations, reserved_facts
from inventory.services.usability import check_usable

LINE_LENGTH = 40


@dataclass(frozen=True, kw_only=True)
class Want:
    """A quantity of a lot to keep for one line of the work, and the day it is needed."""

    line: str
    lot_id: int
    quantity: int
    needed_on: date


@dataclass(frozen=True, kw_only=True)
class Used:
    """What one line of the work really took of a lot; zero where it took nothing."""

    line: str
    lot_id: int
    quantity: int


@dataclass(frozen=True, kw_only=True)
class Output:
    """The lot that the work made, and the storage place it was put in."""

    code: str
    item: Item
    quantity: int
    place: Place
    best_before_on: date | None = None
    packaged_on: date | None = None
    status: LotStatus = LotStatus.RELEASED


@service
def open_conversion(*, by: User, code: str, kind: ConversionKind) -> Conversion:
    """Begin a piece of work that can reserve lots."""
    check_code(code, "a piece of work")
    check_choice(kind, ConversionKind, "kind of work")
    if Conversion.objects.filter(code=code).exists():
        raise Refusal(
            "conversion-code-taken",
            f"There is already work with the code {code}.",
            "Give the new work a code of its own.",
            details={"conversion": code},
        )
    conversion = Conversion.objects.create(code=code, kind=kind)
    write_history(by=by, thing=conversion, action="opened", after={"code": code, "kind": kind})
    return conversion


@service
def reserve_lots(
    *, by: User, conversion: Conversion, wants: Sequence[Want], on: date
) -> list[Reservation]:
    """Keep stock for the lines of a piece of work: all of it or none, in the order of the wants.

    ``on`` is today in the site's time zone; a lot must be good on that day and on the day it is
    needed.

    Raises
    ------
    Refusal: ``not-enough-available``, ``lot-not-released``, ``lot-expired``, each naming the lot
        and the figures; ``line-already-reserved``; ``conversion-not-open``.
    """
    _hold_open(conversion)
    lots = lock_lots(want.lot_id for want in wants)
    _check_wants(wants, lots, on)
    _check_lines_free(conversion, wants, lots)
    totals: dict[int, int] = defaultdict(int)
    for want in wants:
        totals[want.lot_id] += want.quantity
    for lot_id, quantity in sorted(totals.items()):
        shift_reserved(lots[lot_id], quantity)
    made = Reservation.objects.bulk_create(
        Reservation(conversion=conversion, **asdict(want)) for want in wants
    )
    write_history(by=by, thing=conversion, action="reserved", after=reserved_facts(made))
    return made


@service
def give_back(
    *,
    by: User,
    conversion: Conversion,
    reservation_ids: Iterable[int] | None = None,
    ending: Ending = Ending.RELEASED,
) -> list[Reservation]:
    """End open reservations of a piece of work, all of them unless some are named.

    ``ending`` is released, or replaced where others take their place.
    """
    check_choice(ending, [Ending.RELEASED, Ending.REPLACED], "way to give stock back")
    _hold_open(conversion)
    standing, lots = open_reservations(conversion)
    if reservation_ids is not None:
        wanted = set(reservation_ids)
        gone = wanted - {row.pk for row in standing}
        if gone:
            raise Refusal(
                "reservation-not-open",
                f"{len(gone)} of the reservations of {conversion.code} to give back have ended "
                "or belong to other work.",
                "Open the work again to see what is still reserved for it.",
                details={"reservation_ids": sorted(gone)},
            )
        standing = [row for row in standing if row.pk in wanted]
    end_reservations(standing, lots, ending)
    write_history(
        by=by, thing=conversion, action=f"reservations-{ending}", before=reserved_facts(standing)
    )
    return standing


@service
def complete_conversion(
    *,
    by: User,
    conversion: Conversion,
    used: Sequence[Used],
    output: Output,
    occurred_on: date,
    key: str,
    reason: str = "",
) -> Lot:
    """Post what the work used and what it made, in one posting, and return the lot it made.

    Its reservations end as used. What was used beyond them must be available, and everything
    used must be released and not expired. The lot's cost is the exact sum of the shares of what
    its inputs cost, rounded once. The same key again returns the same lot.
    """
    posting, again = begin_posting(
        by=by,
        key=key,
        kind=PostingKind.CONVERSION,
        occurred_on=occurred_on,
        asked={
            "used": [asdict(row) for row in used],
            "output": {
                name: value.pk if isinstance(value, Item | Place) else value
                for name, value in vars(output).items()
            },
        },
        reason=reason,
        conversion=conversion,
    )
    if again:
        return Lot.objects.get(made_by=conversion)
    _hold_open(conversion)
    check_quantity(output.quantity, "make")
    taken = taken_of(used)
    standing, lots = open_reservations(conversion, also=taken)
    end_reservations(standing, lots, Ending.USED)
    made = _made_lot(conversion, output, occurred_on, input_cost(taken, lots))
    moves = [*moves_in(taken, lots), _move_out(made, output)]
    write_moves(posting, moves, {**lots, made.pk: made})
    conversion.state = ConversionState.DONE
    conversion.save(update_fields=["state"])
    write_history(
        by=by,
        thing=conversion,
        action="completed",
        before=reserved_facts(standing),
        after={
            "used": [asdict(row) for row in used],
            "output": made,
            "quantity": output.quantity,
            "posting": posting,
        },
    )
    return made


@service
def cancel_conversion(*, by: User, conversion: Conversion) -> None:
    """Give up a piece of work and give back everything reserved for it."""
    _hold_open(conversion)
    standing, lots = open_reservations(conversion)
    end_reservations(standing, lots, Ending.RELEASED)
    conversion.state = ConversionState.CANCELLED
    conversion.save(update_fields=["state"])
    write_history(by=by, thing=conversion, action="cancelled", before=reserved_facts(standing))


def _hold_open(conversion: Conversion) -> None:
    """Hold the work until the transaction ends; refuse if it is over."""
    fresh = Conversion.objects.select_for_update(no_key=True).get(pk=conversion.pk)
    if fresh.state != ConversionState.OPEN:
        raise Refusal(
            "conversion-not-open",
            f"Work {fresh.code} is {ConversionState(fresh.state).label.lower()}.",
            "Begin new work for what is still to be done.",
            details={"conversion": fresh.code, "state": fresh.state},
        )


def _check_wants(wants: Sequence[Want], lots: Lots, on: date) -> None:
    seen = set()
    for want in wants:
        lot = lots[want.lot_id]
        check_quantity(want.quantity, f"reserve of lot {lot.code}")
        check_text(want.line, LINE_LENGTH, "The name of the line")
        check_usable(lot, max(on, want.needed_on))
        if (want.line, want.lot_id) in seen:
            raise _line_already_reserved(want.line, lot)
        seen.add((want.line, want.lot_id))


def _check_lines_free(conversion: Conversion, wants: Sequence[Want], lots: Lots) -> None:
    standing = set(
        Reservation.objects.filter(conversion=conversion, ended_at__isnull=True).values_list(
            "line", "lot_id"
        )
    )
    for want in wants:
        if (want.line, want.lot_id) in standing:
            raise _line_already_reserved(want.line, lots[want.lot_id])


def _line_already_reserved(line: str, lot: Lot) -> Refusal:
    return Refusal(
        "line-already-reserved",
        f"Lot {lot.code} is already reserved for line {line} of this work.",
        "Give that reservation back as replaced, then reserve the new quantity.",
        details={**lot_facts(lot), "line": line},
    )


def taken_of(used: Sequence[Used]) -> dict[int, int]:
    """Return what was used of each lot, over all lines."""
    taken: dict[int, int] = defaultdict(int)
    for row in used:
        check_not_negative(row.quantity, f"used for line {row.line}")
        taken[row.lot_id] += row.quantity
    taken = {lot_id: quantity for lot_id, quantity in taken.items() if quantity}
    if not taken:
        raise Refusal(
            "nothing-used",
            "Nothing was used, and a lot cannot be made of nothing.",
            "Say what was used, or cancel the work.",
        )
    return taken


def _made_lot(conversion: Conversion, output: Output, occurred_on: date, cost_amount: int) -> Lot:
    check_choice(output.status, set(LotStatus) - {LotStatus.REJECTED}, "status of a new lot")
    return new_lot(
        Lot(
            code=output.code,
            item=output.item,
            made_by=conversion,
            received_on=occurred_on,
            packaged_on=output.packaged_on or occurred_on,
            best_before_on=output.best_before_on,
            status=output.status,
            cost_amount=cost_amount,
            cost_quantity=output.quantity,
        )
    )


def input_cost(taken: Mapping[int, int], lots: Lots) -> int:
    """Return what the inputs cost, rounded half up once to a ten-thousandth."""
    exact = sum(
        (
            Fraction(lots[lot_id].cost_amount * quantity, lots[lot_id].cost_quantity)
            for lot_id, quantity in taken.items()
            if lots[lot_id].cost_quantity
        ),
        start=Fraction(0),
    )
    return floor(exact + Fraction(1, 2))


def moves_in(
    taken: dict[int, int], lots: Lots, to: PlaceKind = PlaceKind.PRODUCTION
) -> list[MoveAsked]:
    """Return the moves of what was used, from the places that hold it into a fixed place."""
    held: dict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = Balance.objects.filter(lot__in=taken, holds_stock=True, quantity__gt=0)
    for lot_id, place_id, quantity in rows.values_list("lot_id", "place_id", "quantity"):
        held[lot_id].append((place_id, quantity))
    end = fixed_place(to)
    return [
        MoveAsked(lot_id=lot_id, quantity=part, from_place_id=place_id, to_place_id=end.pk)
        for lot_id, quantity in sorted(taken.items())
        for place_id, part in _parts(lots[lot_id], quantity, sorted(held[lot_id]))
    ]


def _parts(lot: Lot, quantity: int, held: list[tuple[int, int]]) -> list[tuple[int, int]]:
    parts, left = [], quantity
    for place_id, there in held:
        part = min(there, left)
        if part:
            parts.append((place_id, part))
        left -= part
    if left:
        raise Refusal(
            "not-enough-on-hand",
            f"{amount(quantity - left, lot.item)} of lot {lot.code} is on hand, and "
            f"{amount(quantity, lot.item)} of it was used.",
            "Count the lot if more of it lies in store, or correct what was used.",
            details=lot_facts(lot, held=quantity - left, wanted=quantity),
        )
    return parts


def _move_out(made: Lot, output: Output) -> MoveAsked:
    work = fixed_place(PlaceKind.PRODUCTION)
    return MoveAsked(
        lot_id=made.pk,
        quantity=output.quantity,
        from_place_id=work.pk,
        to_place_id=output.place.pk,
    )
