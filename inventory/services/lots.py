"""What a person does to a lot: receive, release, hold, reject, move, count and scrap it."""

from __future__ import annotations

from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory import events
from inventory.models import (
    Balance,
    HopForm,
    Item,
    ItemKind,
    Lot,
    LotStatus,
    LotStock,
    Packing,
    Place,
    PlaceKind,
    Posting,
    PostingKind,
    Supplier,
)
from inventory.models.fixed import fixed_place
from inventory.services.balances import lock_lots
from inventory.services.entries import (
    REASON_LENGTH,
    check_choice,
    check_code,
    check_dates,
    check_not_negative,
    check_quantity,
    check_reason,
    check_text,
)
from inventory.services.ledger import MoveAsked, begin_posting, tell_moved, write_moves
from inventory.services.reservations import lose_reservations, tell_lost

ARRIVALS = (PostingKind.RECEIPT, PostingKind.OPENING)
WASTES = (PostingKind.WASTE, PostingKind.SAMPLE)


@service
def receive_lot(
    *,
    by: User,
    code: str,
    item: Item,
    received_on: date,
    quantity: int,
    place: Place,
    key: str,
    supplier: Supplier | None = None,
    supplier_lot: str = "",
    packaged_on: date | None = None,
    best_before_on: date | None = None,
    packing: str = "",
    form: str = "",
    cost_amount: int = 0,
    kind: PostingKind = PostingKind.RECEIPT,
    status: LotStatus = LotStatus.QUARANTINE,
) -> Lot:
    """Bring a new lot into a storage place. The same key again returns the same lot.

    ``cost_amount`` is what the whole quantity cost, in ten-thousandths of the currency; ``form`` is
    how hops are pressed where that differs from their item.
    """
    check_choice(kind, ARRIVALS, "way to receive a lot")
    posting, again = begin_posting(
        by=by,
        key=key,
        kind=kind,
        occurred_on=received_on,
        asked={
            "code": code,
            "item": item.pk,
            "quantity": quantity,
            "place": place.pk,
            "supplier": supplier.pk if supplier else None,
            "supplier_lot": supplier_lot,
            "packaged_on": packaged_on,
            "best_before_on": best_before_on,
            "packing": packing,
            "form": form,
            "cost_amount": cost_amount,
            "status": status,
        },
    )
    if again:
        return Lot.objects.get(moves__posting=posting)
    check_choice(status, set(LotStatus) - {LotStatus.REJECTED}, "status of a new lot")
    check_quantity(quantity, "receive")
    lot = new_lot(
        Lot(
            code=code,
            item=item,
            supplier=supplier,
            supplier_lot=supplier_lot,
            received_on=received_on,
            packaged_on=packaged_on,
            best_before_on=best_before_on,
            status=status,
            packing=packing,
            form=form,
            cost_amount=cost_amount,
            cost_quantity=quantity,
        )
    )
    source = fixed_place(PlaceKind.SUPPLIER)
    write_moves(posting, [_move(lot, quantity, source, place)], {lot.pk: lot})
    write_history(
        by=by,
        thing=lot,
        action="received",
        after={"code": code, "item": item, "quantity": quantity, "place": place, "status": status},
    )
    return lot


def new_lot(lot: Lot) -> Lot:
    """Check and write a lot that has no stock yet; the caller posts its first move."""
    check_code(lot.code, "a lot")
    check_text(lot.supplier_lot, 40, "The supplier's lot")
    check_choice(lot.packing, ["", *Packing], "packing")
    _check_form(lot)
    check_dates(packaged_on=lot.packaged_on, best_before_on=lot.best_before_on)
    if lot.packaged_on and lot.packaged_on > lot.received_on:
        raise Refusal(
            "packaged-after-receipt",
            f"Lot {lot.code} was packaged on {lot.packaged_on}, after it was received on "
            f"{lot.received_on}.",
            "Read the date on the pack again; day and month may have been swapped.",
        )
    check_not_negative(lot.cost_amount, "of money that the lot cost")
    if Lot.objects.filter(code=lot.code).exists():
        raise Refusal(
            "lot-code-taken",
            f"There is already a lot {lot.code}.",
            "Give the new lot a code of its own.",
            details={"lot": lot.code},
        )
    lot.save(force_insert=True)
    LotStock.objects.create(lot=lot)
    return lot


@service
def release_lot(*, by: User, lot: Lot, expected: int, reason: str = "") -> Lot:
    """Let a lot be used from now on."""
    fresh = _change_status(
        by=by,
        lot=lot,
        expected=expected,
        reason=reason,
        status=LotStatus.RELEASED,
        allowed_from=(LotStatus.QUARANTINE, LotStatus.ON_HOLD),
    )
    events.lot_released.send(sender=Lot, lot_id=fresh.pk, by=by)
    return fresh


@service
def hold_lot(*, by: User, lot: Lot, expected: int, reason: str = "") -> Lot:
    """Keep a lot from being used or newly reserved; what is reserved stays reserved."""
    return _change_status(
        by=by,
        lot=lot,
        expected=expected,
        reason=reason,
        status=LotStatus.ON_HOLD,
        allowed_from=(LotStatus.QUARANTINE, LotStatus.RELEASED),
    )


@service
def reject_lot(*, by: User, lot: Lot, expected: int, reason: str = "") -> Lot:
    """Reject a lot for good and end all its reservations; it stays on hand until scrapped."""
    fresh = _change_status(
        by=by,
        lot=lot,
        expected=expected,
        reason=reason,
        status=LotStatus.REJECTED,
        allowed_from=(LotStatus.QUARANTINE, LotStatus.RELEASED, LotStatus.ON_HOLD),
    )
    lost = lose_reservations(by=by, lot=fresh, most=0)
    tell_lost(by=by, lot=fresh, lost=lost)
    return fresh


@service
def move_lot(
    *,
    by: User,
    lot: Lot,
    quantity: int,
    from_place: Place,
    to_place: Place,
    occurred_on: date,
    key: str,
) -> Posting:
    """Carry some of a lot from one storage place to another."""
    asked = {
        "lot": lot.pk,
        "quantity": quantity,
        "from": from_place.pk,
        "to": to_place.pk,
    }
    posting, again = begin_posting(
        by=by, key=key, kind=PostingKind.TRANSFER, occurred_on=occurred_on, asked=asked
    )
    if not again:
        move = _move(lot, quantity, from_place, to_place)
        write_moves(posting, [move], lock_lots([lot.pk]))
        write_history(by=by, thing=lot, action="moved", after={**asked, "posting": posting})
        tell_moved(by=by, lot=lot, on=occurred_on)
    return posting


@service
def count_lot(
    *, by: User, lot: Lot, place: Place, counted: int, occurred_on: date, key: str, reason: str
) -> Posting:
    """Put the books of a lot in one place right by what was counted there.

    A count is reality: where it leaves less on hand than is reserved, reservations end, latest
    need first, and the work that lost them is told. A count that agrees is kept as a posting
    without moves.
    """
    asked = {"lot": lot.pk, "place": place.pk, "counted": counted}
    posting, again = begin_posting(
        by=by,
        key=key,
        kind=PostingKind.COUNT,
        occurred_on=occurred_on,
        asked=asked,
        reason=reason,
    )
    if again:
        return posting
    check_not_negative(counted, "counted")
    check_reason(reason)
    _check_storage(place)
    lots = lock_lots([lot.pk])
    fresh = lots[lot.pk]
    booked = sum(Balance.objects.filter(lot=lot, place=place).values_list("quantity", flat=True))
    found = counted - booked
    on_hand = LotStock.objects.get(lot=lot).on_hand
    lost = lose_reservations(by=by, lot=fresh, most=on_hand + found) if found < 0 else []
    if found:
        books = fixed_place(PlaceKind.CORRECTION)
        ends = (books, place) if found > 0 else (place, books)
        write_moves(posting, [_move(fresh, abs(found), *ends)], lots)
    tell_lost(by=by, lot=fresh, lost=lost)
    write_history(
        by=by,
        thing=lot,
        action="counted",
        before={"quantity": booked},
        after={**asked, "posting": posting, "reason": reason},
    )
    return posting


@service
def scrap_lot(
    *,
    by: User,
    lot: Lot,
    place: Place,
    quantity: int,
    occurred_on: date,
    key: str,
    reason: str,
    kind: PostingKind = PostingKind.WASTE,
) -> Posting:
    """Throw some of a lot away, or take a sample of it (``PostingKind.SAMPLE``).

    What is reserved cannot be thrown away: reject or count the lot, or cancel the work.
    """
    check_choice(kind, WASTES, "way to throw a lot away")
    asked = {"lot": lot.pk, "place": place.pk, "quantity": quantity}
    posting, again = begin_posting(
        by=by, key=key, kind=kind, occurred_on=occurred_on, asked=asked, reason=reason
    )
    if again:
        return posting
    check_reason(reason)
    move = _move(lot, quantity, place, fixed_place(PlaceKind.WASTE))
    write_moves(posting, [move], lock_lots([lot.pk]))
    write_history(
        by=by, thing=lot, action="scrapped", after={**asked, "posting": posting, "reason": reason}
    )
    return posting


def _move(lot: Lot, quantity: int, from_place: Place, to_place: Place) -> MoveAsked:
    return MoveAsked(
        lot_id=lot.pk,
        quantity=quantity,
        from_place_id=from_place.pk,
        to_place_id=to_place.pk,
    )


def _check_form(lot: Lot) -> None:
    check_choice(lot.form, ["", *HopForm], "form of hops")
    if lot.form and lot.item.kind != ItemKind.HOP:
        raise Refusal(
            "form-of-hops-only",
            f"Lot {lot.code} is no hop, and was said to be {HopForm(lot.form).label.lower()}.",
            "Leave the form empty.",
            details={"lot": lot.code},
        )


def _check_storage(place: Place) -> None:
    if place.kind != PlaceKind.STORAGE:
        raise Refusal(
            "place-of-wrong-kind",
            f"{place.name} is no storage place, so nothing can be counted there.",
            "Choose a storage place.",
            details={"place": place.code},
        )


def _change_status(
    *,
    by: User,
    lot: Lot,
    expected: int,
    reason: str,
    status: LotStatus,
    allowed_from: tuple[LotStatus, ...],
) -> Lot:
    check_text(reason, REASON_LENGTH, "The reason")
    fresh = lock_lots([lot.pk])[lot.pk]
    if fresh.version == expected and fresh.status not in allowed_from:
        now = LotStatus(fresh.status).label.lower()
        raise Refusal(
            "lot-status-final" if fresh.status == LotStatus.REJECTED else "lot-status-unchanged",
            f"Lot {fresh.code} is {now}, so it cannot become {status.label.lower()}.",
            "Scrap a rejected lot, or receive it again under a new code."
            if fresh.status == LotStatus.REJECTED
            else "Nothing needs doing.",
            details={"lot": fresh.code, "status": fresh.status},
        )
    change_version(
        by=by,
        thing=fresh,
        expected=expected,
        action=status.value.replace("_", "-"),
        changes={"status": status, "status_reason": reason},
    )
    return fresh
