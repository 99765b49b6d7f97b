"""Customer orders: taken, changed while nothing of them has left, and cancelled."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from typing import Any

from django.db import IntegrityError, transaction
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.services.entries import check_code, check_reason
from planning.models import CustomerOrder, CustomerOrderState, DispatchZone, OrderLine
from planning.services.codes import numbered_code
from planning.services.dispatching import hold_order
from planning.services.order_checks import LineAsked, check_lines, check_words, check_zone

_TRIES = 5


@service
def take_customer_order(
    *,
    by: User,
    customer: str,
    promised_on: date,
    lines: Sequence[LineAsked],
    zone: DispatchZone | None = None,
    code: str = "",
    note: str = "",
) -> CustomerOrder:
    """Take an order that is to leave on the promised day.

    Without a code it is named for today: C and the date, then a number.

    Raises
    ------
    Refusal: ``order-code-taken``, or what :mod:`planning.services.order_checks` refuses.
    """
    check_words(customer, note, promised_on)
    check_zone(zone, promised_on)
    check_lines(lines, promised_on)
    facts = {
        "customer": customer.strip(),
        "promised_on": promised_on,
        "zone": zone,
        "note": note.strip(),
    }
    order = _new_order(code, facts)
    _write_lines(order, lines)
    write_history(by=by, thing=order, action="took order", after=_facts(order))
    return order


@service
def change_customer_order(
    *,
    by: User,
    order: CustomerOrder,
    expected: int,
    customer: str,
    promised_on: date,
    lines: Sequence[LineAsked],
    zone: DispatchZone | None = None,
    note: str = "",
) -> None:
    """Write an order anew while nothing of it has left.

    Raises
    ------
    Refusal: ``order-not-open``, ``order-has-left``, ``order-lines-fixed``, changed meanwhile, or
        what :mod:`planning.services.order_checks` refuses.
    """
    hold_order(order)
    _check_untouched(order)
    check_words(customer, note, promised_on)
    if (zone, promised_on) != (order.zone, order.promised_on):
        check_zone(zone, promised_on)
    check_lines(lines, promised_on)
    before = _facts(order)
    changes = {
        "customer": customer.strip(),
        "promised_on": promised_on,
        "zone": zone,
        "note": note.strip(),
    }
    change_version(by=by, thing=order, expected=expected, action="change order", changes=changes)
    if before["lines"] == [_line_facts(line) for line in _rows(order, lines)]:
        return
    if order.dispatches.exists():
        raise Refusal(
            "order-lines-fixed",
            f"Lines of order {order.code} were dispatched, and the dispatch was undone.",
            "Cancel the order, and take it anew with its other lines.",
        )
    order.lines.all().delete()
    _write_lines(order, lines)
    write_history(
        by=by,
        thing=order,
        action="change lines",
        before={"lines": before["lines"]},
        after={"lines": _facts(order)["lines"]},
    )


@service
def cancel_customer_order(*, by: User, order: CustomerOrder, expected: int, reason: str) -> None:
    """Cancel an order: what has not left of it will not leave.

    Raises
    ------
    Refusal: no reason, ``order-not-open``, or changed meanwhile.
    """
    check_reason(reason)
    hold_order(order)
    _check_open(order)
    change_version(
        by=by,
        thing=order,
        expected=expected,
        action="cancel order",
        changes={"state": CustomerOrderState.CANCELLED},
    )
    write_history(by=by, thing=order, action="reason", after={"reason": reason.strip()})


def _check_open(order: CustomerOrder) -> None:
    if order.state != CustomerOrderState.OPEN:
        raise Refusal(
            "order-not-open",
            f"Order {order.code} is {order.get_state_display().lower()}.",
            "Take a new order for what is wanted now.",
        )


def _check_untouched(order: CustomerOrder) -> None:
    _check_open(order)
    if order.lines.filter(dispatched__gt=0).exists():
        raise Refusal(
            "order-has-left",
            f"Part of order {order.code} has left.",
            "Cancel what is left of it, and take a new order for what is wanted now.",
        )


def _new_order(code: str, facts: dict[str, Any]) -> CustomerOrder:
    """Write the row; of two orders taken at once, one takes the next number."""
    if code:
        check_code(code, "an order")
    for tried in range(1, _TRIES + 1):
        try:
            with transaction.atomic():
                return CustomerOrder.objects.create(code=code or _made_code(), **facts)
        except IntegrityError:
            if code or tried == _TRIES:
                raise Refusal(
                    "order-code-taken",
                    f"There is already an order {code}.",
                    "Give the new order a code of its own, or none.",
                ) from None
    raise AssertionError  # pragma: no cover - the loop returns or raises


def _made_code() -> str:
    return numbered_code(CustomerOrder, f"C{timezone.localdate():%y%m%d}")


def _write_lines(order: CustomerOrder, lines: Sequence[LineAsked]) -> None:
    OrderLine.objects.bulk_create(_rows(order, lines))


def _rows(order: CustomerOrder, lines: Sequence[LineAsked]) -> list[OrderLine]:
    return [
        OrderLine(
            order=order,
            position=position,
            kit=line.kit,
            item=line.item,
            yeast=line.yeast,
            crushed=line.crushed,
            quantity=line.quantity,
            price=_price(line),
        )
        for position, line in enumerate(lines, start=1)
    ]


def _price(line: LineAsked) -> int:
    if line.price is not None:
        return line.price
    return line.kit.price if line.kit else 0


def _facts(order: CustomerOrder) -> dict[str, Any]:
    rows = order.lines.select_related("kit__item", "item", "yeast").order_by("position")
    return {
        "customer": order.customer,
        "promised_on": order.promised_on,
        "zone": order.zone.code if order.zone else None,
        "lines": [_line_facts(line) for line in rows],
    }


def _line_facts(line: OrderLine) -> dict[str, Any]:
    thing = line.kit.item if line.kit else line.item
    return {
        "of": thing.code if thing else "",
        "yeast": line.yeast.code if line.yeast else None,
        "crushed": line.crushed,
        "quantity": line.quantity,
        "price": line.price,
    }
