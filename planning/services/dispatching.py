"""Dispatching an order: what leaves is posted to the customer, and can be taken back whole."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from datetime import date
from typing import Any

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, plain, service, write_history
from boxwort.errors import Refusal
from boxwort.figures import on_date
from inventory.models import Conversion
from inventory.services.balances import lock_lots
from inventory.services.conversions import Used
from inventory.services.entries import check_not_negative, check_not_to_come
from inventory.services.shipping import return_shipment, ship_lots
from planning.engine.boxes import Share, boxes_in
from planning.models import (
    CustomerOrder,
    CustomerOrderState,
    Dispatch,
    DispatchBox,
    DispatchPart,
    OrderLine,
)
from planning.queries.dispatch_boxes import BoxPacked, Picks, boxes_packed
from planning.queries.dispatch_choices import choice_of
from planning.queries.dispatch_content import dispatch_content
from planning.queries.dispatch_offers import LineChoice, OrderChoice, RowChoice
from planning.queries.dispatch_stock import DispatchStock, dispatch_stock, orders_in_full

_HELD = ("state", "version", "promised_on", "zone")


@service
def dispatch_order(
    *, by: User, order: CustomerOrder, expected: int, shipped_on: date, picks: Picks, key: str
) -> Dispatch:
    """Send boxes of an order on their way: all of it, or a part.

    ``picks`` says, by line and by kind of thing, how many boxes take it from which lot; of an
    extra, how many whole units of stock. A line that is not named does not leave.

    Raises
    ------
    Refusal: the order is not open or was changed; its zone does not ship on that day; a lot may
        not go (on hold, expired, another yeast, crushed for a whole line, yeast below its floor);
        more is picked than is open or is here; or not every box has everything.
    """
    hold_order(order)
    _check_open(order)
    check_not_to_come(shipped_on, "dispatch")
    picks = {line: _taken(things) for line, things in picks.items() if any(_taken(things).values())}
    lock_lots(share.lot for things in picks.values() for row in things.values() for share in row)
    fresh = orders_in_full().get(pk=order.pk)
    stock = dispatch_stock([fresh])
    choice = choice_of(fresh, shipped_on, stock, stock.free())
    _check_ships(choice)
    _check_picks(choice, picks)
    boxes = boxes_packed(choice, picks)
    work = ship_lots(
        by=by,
        used=list(_used(boxes)),
        occurred_on=shipped_on,
        reason=f"Order {order.code} to {order.customer}",
        key=key,
    )
    dispatch = _written(by, fresh, choice, boxes, work, stock)
    _count_dispatched(boxes)
    change_version(
        by=by,
        thing=order,
        expected=expected,
        action="dispatch order",
        changes={"state": _state_of(order)},
    )
    return dispatch


@service
def undo_dispatch(*, by: User, dispatch: Dispatch, expected: int, reason: str, key: str) -> None:
    """Take a dispatch back whole that was written down wrongly: its lots are stock again.

    The order is open again for what it sent.

    Raises
    ------
    Refusal: no reason, it was undone before or changed meanwhile.
    """
    hold_order(dispatch.order)
    held = Dispatch.objects.select_for_update(no_key=True)
    dispatch.refresh_from_db(fields=["undone_at", "version"], from_queryset=held)
    if dispatch.undone_at is not None:
        raise Refusal(
            "dispatch-undone",
            f"Dispatch {dispatch.code} was undone before.",
            "Dispatch the order again when it really leaves.",
        )
    return_shipment(by=by, conversion=dispatch.conversion, key=key, reason=reason)
    for box in dispatch.boxes.select_related("line"):
        box.line.refresh_from_db(fields=["dispatched"])
        box.line.dispatched -= box.quantity
        box.line.save(update_fields=["dispatched"])
    change_version(
        by=by,
        thing=dispatch,
        expected=expected,
        action="undo dispatch",
        changes={"undone_at": timezone.now()},
    )
    order = dispatch.order
    change_version(
        by=by,
        thing=order,
        expected=order.version,
        action="dispatch undone",
        changes={"state": _state_of(order)},
    )


def hold_order(order: CustomerOrder) -> None:
    """Hold an order until the transaction ends, and read it again."""
    held = CustomerOrder.objects.select_for_update(no_key=True)
    order.refresh_from_db(fields=_HELD, from_queryset=held)


def proposed(choice: OrderChoice) -> Picks:
    """Return the picks that are proposed for an order."""
    return {
        line.line.pk: {
            row.key: tuple(
                Share(lot=offer.lot.pk, boxes=offer.boxes) for offer in row.offers if offer.boxes
            )
            for row in line.rows
        }
        for line in choice.lines
        if line.ready
    }


def _taken(things: Mapping[str, Sequence[Share]]) -> dict[str, tuple[Share, ...]]:
    """Return what is picked without the lots of which nothing is."""
    return {key: tuple(share for share in shares if share.boxes) for key, shares in things.items()}


def _check_open(order: CustomerOrder) -> None:
    if order.state != CustomerOrderState.OPEN:
        raise Refusal(
            "order-not-open",
            f"Order {order.code} is {order.get_state_display().lower()}.",
            "Only what is open can be dispatched.",
        )


def _check_ships(choice: OrderChoice) -> None:
    if choice.ships:
        return
    where = choice.order.zone.name if choice.order.zone else "the customer"
    then = choice.next_ship_on
    raise Refusal(
        "zone-does-not-ship",
        f"No boxes leave for {where} on {on_date(choice.way.shipped_on)}.",
        f"The next day is {on_date(then)}."
        if then
        else "Its weekdays and the house's working days have none in common: correct one of them.",
    )


def _check_picks(choice: OrderChoice, picks: Picks) -> None:
    if not picks:
        raise Refusal(
            "nothing-to-dispatch",
            "Nothing was picked.",
            "Say how many kits of which lot leave, or wait until some are here.",
        )
    for line_id, things in picks.items():
        line = choice.line(line_id)
        if line is None:
            raise Refusal(
                "line-not-open",
                "A line was picked that is not open, or is of another order.",
                "Open the order again to see what has still to leave.",
            )
        _check_line(line, things)


def _check_line(line: LineChoice, things: Mapping[str, Sequence[Share]]) -> None:
    if set(things) != {row.key for row in line.rows}:
        raise Refusal(
            "boxes-not-whole",
            f"{line.name}: not everything that goes into the box was picked, or more than that.",
            "Open the order again and pick each thing on its list.",
        )
    boxes = boxes_in(things[line.rows[0].key])
    if boxes > line.wanted:
        raise Refusal(
            "more-than-ordered",
            f"{line.name}: {boxes:,} were picked, and {line.wanted:,} have still to leave.",
            "Send no more than is open, or change the order first.",
        )
    for row in line.rows:
        _check_row(line, row, things[row.key], boxes)


def _check_row(line: LineChoice, row: RowChoice, shares: Sequence[Share], boxes: int) -> None:
    if boxes_in(shares) != boxes:
        raise Refusal(
            "boxes-not-whole",
            f"{line.name}: {row.name} was picked for {boxes_in(shares):,} boxes, and "
            f"{boxes:,} leave.",
            "Pick it for as many boxes as leave.",
        )
    for share in shares:
        check_not_negative(share.boxes, f"of boxes of {line.name} with {row.name}")
        offer = row.offer(share.lot)
        if offer is None:
            raise Refusal(
                "lot-not-on-the-list",
                f"{line.name}: a lot was picked for {row.name} that is not here or is of "
                "something else.",
                "Choose one of the lots on the list.",
            )
        if offer.verdict.refused:
            raise Refusal(
                "lot-cannot-go",
                f"{line.name}: lot {offer.lot.code} of {row.name} {offer.verdict.refused}.",
                "Take another lot, or send fewer boxes and the rest later.",
                details={"lot": offer.lot.code},
            )


def _used(boxes: Sequence[BoxPacked]) -> Iterator[Used]:
    for number, box in enumerate(boxes, start=1):
        yield Used(line=f"box-{number}", lot_id=box.lot.pk, quantity=box.quantity)
        for part in box.parts:
            yield Used(line=f"box-{number}-{part.key}", lot_id=part.lot.pk, quantity=part.quantity)


def _written(
    by: User,
    order: CustomerOrder,
    choice: OrderChoice,
    boxes: Sequence[BoxPacked],
    work: Conversion,
    stock: DispatchStock,
) -> Dispatch:
    content = dispatch_content(work.code, choice, boxes, stock)
    dispatch = Dispatch.objects.create(
        code=work.code,
        order=order,
        conversion=work,
        shipped_on=choice.way.shipped_on,
        arrives_on=choice.way.arrives_on,
        dispatched_by=by,
        content=plain(content),
    )
    for box in boxes:
        row = DispatchBox.objects.create(
            dispatch=dispatch,
            line=box.choice.line,
            lot=box.lot,
            quantity=box.quantity,
            brew_on=box.choice.brew_on if box.is_kit else None,
            best_before_on=box.dated.day,
        )
        DispatchPart.objects.bulk_create(
            DispatchPart(
                box=row,
                key=part.key,
                lot=part.lot,
                quantity=part.quantity,
                crushed=part.crushed,
            )
            for part in box.parts
        )
    write_history(by=by, thing=dispatch, action="dispatched", after=_facts(order, boxes))
    return dispatch


def _facts(order: CustomerOrder, boxes: Sequence[BoxPacked]) -> dict[str, Any]:
    return {
        "order": order.code,
        "boxes": [
            {
                "lot": box.lot.code,
                "quantity": box.quantity,
                "parts": {part.key: part.lot.code for part in box.parts},
            }
            for box in boxes
        ],
    }


def _count_dispatched(boxes: Sequence[BoxPacked]) -> None:
    for box in boxes:
        box.choice.line.dispatched += box.quantity
    lines = {box.choice.line.pk: box.choice.line for box in boxes}
    OrderLine.objects.bulk_update(lines.values(), ["dispatched"])


def _state_of(order: CustomerOrder) -> CustomerOrderState:
    """Return the state of an order that is not cancelled, by what has left of its lines."""
    if order.state == CustomerOrderState.CANCELLED:
        return CustomerOrderState.CANCELLED
    lines = OrderLine.objects.filter(order=order).values_list("quantity", "dispatched")
    sent = all(quantity == dispatched for quantity, dispatched in lines)
    return CustomerOrderState.DISPATCHED if sent else CustomerOrderState.OPEN
