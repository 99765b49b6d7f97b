"""Orders to leave, by the day on which their boxes can: what is ready, and what is lacking.

Orders are served in the order of their promises, each from what those before it leave, so that the
board says of every order whether it can leave once those promised earlier have.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.quantities import Measure, read_naturally
from planning.models import CustomerOrder, CustomerOrderState
from planning.queries.dispatch_choices import choice_of
from planning.queries.dispatch_offers import LineChoice, OrderChoice
from planning.queries.dispatch_stock import KIT, DispatchStock, dispatch_stock, orders_in_full
from planning.queries.routes import route_of


@dataclass(frozen=True, kw_only=True)
class Lacking:
    """Something that is short for an order: how much of it, as people read it, and what to do."""

    name: str
    amount: str
    remedies: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class BoardRow:
    """An order that has still to leave.

    ``leaves_on`` is the first day on which boxes leave for its zone, from the promised day or from
    today on; None: there is none. ``late``: that is after the promised day. ``what`` names its
    kits and extras.
    """

    order_id: int
    code: str
    customer: str
    zone: str
    promised_on: date
    leaves_on: date | None
    late: bool
    what: str
    kits: int
    kits_ready: int
    complete: bool
    anything: bool
    part_sent: bool
    lacking: tuple[Lacking, ...]


@dataclass(frozen=True, kw_only=True)
class BoardDay:
    """The orders that can leave on one day; None: those that can leave on no day."""

    on: date | None
    rows: tuple[BoardRow, ...]


def dispatch_board(today: date) -> list[BoardDay]:
    """Return the open orders by the day they can leave; a fixed number of statements."""
    orders = list(orders_in_full().filter(state=CustomerOrderState.OPEN))
    stock = dispatch_stock(orders)
    free = stock.free()
    rows = [_row(order, today, stock, free) for order in orders]
    days = sorted({row.leaves_on for row in rows}, key=lambda day: (day is None, day or today))
    return [
        BoardDay(
            on=day,
            rows=tuple(
                sorted(
                    (row for row in rows if row.leaves_on == day),
                    key=lambda row: (row.zone, row.promised_on, row.code),
                )
            ),
        )
        for day in days
    ]


def leaving_day(order: CustomerOrder, today: date, stock: DispatchStock) -> date | None:
    """Return the first day on which an order can leave, as promised or later."""
    wanted = max(today, order.promised_on)
    return route_of(order.zone, stock.site).ship_day(wanted, stock.calendar)


def _row(order: CustomerOrder, today: date, stock: DispatchStock, free: dict[int, int]) -> BoardRow:
    leaves_on = leaving_day(order, today, stock)
    choice = choice_of(order, leaves_on or max(today, order.promised_on), stock, free)
    kits = [line for line in choice.lines if line.line.kit_id is not None]
    return BoardRow(
        order_id=order.pk,
        code=order.code,
        customer=order.customer,
        zone=order.zone.name if order.zone else "",
        promised_on=order.promised_on,
        leaves_on=leaves_on,
        late=leaves_on is None or leaves_on > order.promised_on,
        what=", ".join(_what(line) for line in choice.lines),
        kits=sum(line.wanted for line in kits),
        kits_ready=sum(line.ready for line in kits),
        complete=choice.complete,
        anything=choice.anything,
        part_sent=any(line.dispatched for line in order.lines.all()),
        lacking=tuple(_lacking(choice)),
    )


def _what(line: LineChoice) -> str:
    if line.line.item is not None:
        return f"{read_naturally(line.wanted, Measure(line.line.item.measure))} {line.name}"
    return f"{line.wanted:,} {line.title}"


def _lacking(choice: OrderChoice) -> Sequence[Lacking]:
    return [
        Lacking(
            name=row.name,
            amount=f"{row.short:,} kit{'' if row.short == 1 else 's'} of"
            if row.key == KIT
            else read_naturally(row.short_quantity, Measure(row.measure)),
            remedies=row.remedies,
        )
        for line in choice.lines
        for row in line.lacking
    ]
