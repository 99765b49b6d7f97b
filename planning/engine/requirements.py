"""Requirements by date: what no lot and no order will cover, and which supply serves which need.

Needs are met in the order of their dates. Each is served first-expired-first-out by what is
usable on its own day: a lot that will have expired does not count, nor an order that arrives
later. What is then missing is a net requirement, due on that day.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from planning.engine.lots import LotSupply


class Source(StrEnum):
    """Where a need is served from."""

    LOT = "lot"
    RECEIPT = "scheduled receipt"
    NET = "net requirement"


@dataclass(frozen=True, kw_only=True)
class Need:
    """A gross requirement of one run for one item, in whole units of stock."""

    item: str
    on: date
    quantity: int
    run: str


@dataclass(frozen=True, kw_only=True)
class Receipt:
    """A scheduled receipt: what is on order, when it arrives and the last day it can be used."""

    reference: str
    on: date
    quantity: int
    last_day: date | None = None


@dataclass(frozen=True, kw_only=True)
class Peg:
    """A quantity of one supply that serves one run's need.

    ``reference`` is the lot's code, the receipt's reference, or the ISO date on which the net
    requirement is due.
    """

    run: str
    on: date
    quantity: int
    source: Source
    reference: str


@dataclass(frozen=True, kw_only=True)
class NetRow:
    """A net requirement: what must arrive by ``on``; ``past_due`` if that day has gone."""

    on: date
    quantity: int
    past_due: bool


@dataclass(frozen=True, kw_only=True)
class Requirement:
    """The netting of one item; the pegs of a need add up to it exactly.

    ``late`` names the scheduled receipts that should have arrived before today; they are
    counted as arriving today.
    """

    item: str
    gross: int
    net: tuple[NetRow, ...]
    pegs: tuple[Peg, ...]
    late: tuple[str, ...]

    @property
    def net_total(self) -> int:
        """Everything that must still be ordered."""
        return sum(row.quantity for row in self.net)

    def served_by(self, on: date) -> tuple[Peg, ...]:
        """Return the pegs of the net requirement due on that day: the runs it is ordered for."""
        reference = on.isoformat()
        return tuple(
            peg for peg in self.pegs if peg.source is Source.NET and peg.reference == reference
        )


@dataclass(kw_only=True)
class _Supply:
    source: Source
    reference: str
    first_day: date
    last_day: date
    left: int

    def usable(self, on: date) -> bool:
        return self.first_day <= on <= self.last_day

    def take(self, wanted: int) -> int:
        taken = min(wanted, self.left)
        self.left -= taken
        return taken


def requirement(
    *,
    item: str,
    needs: Iterable[Need],
    lots: Iterable[LotSupply],
    receipts: Iterable[Receipt],
    today: date,
    safety: int = 0,
) -> Requirement:
    """Return the net requirements of one item with their pegs.

    A need dated before today is served by what is usable today and is past due. ``safety`` is
    the usable stock that must be left after every need.
    """
    orders = list(receipts)
    supplies = [*_lot_supplies(lots), *_receipt_supplies(orders, today)]
    wanted = sorted(
        (need for need in needs if need.item == item), key=lambda need: (need.on, need.run)
    )
    net: dict[date, int] = {}
    pegs: list[Peg] = []
    for need in wanted:
        on = max(need.on, today)
        usable = [supply for supply in supplies if supply.usable(on)]
        missing = need.quantity + safety - sum(supply.left for supply in usable)
        if missing > 0:
            net[need.on] = net.get(need.on, 0) + missing
            planned = _planned_supply(need.on, on, missing)
            supplies.append(planned)
            usable.append(planned)
        pegs += _pegs(need, usable)
    return Requirement(
        item=item,
        gross=sum(need.quantity for need in wanted),
        net=tuple(
            NetRow(on=on, quantity=quantity, past_due=on < today) for on, quantity in net.items()
        ),
        pegs=tuple(pegs),
        late=tuple(order.reference for order in orders if order.on < today),
    )


def _lot_supplies(lots: Iterable[LotSupply]) -> list[_Supply]:
    return [
        _Supply(
            source=Source.LOT,
            reference=lot.code,
            first_day=lot.first_day or date.min,
            last_day=lot.last_day or date.max,
            left=max(lot.available, 0),
        )
        for lot in lots
    ]


def _receipt_supplies(orders: Iterable[Receipt], today: date) -> list[_Supply]:
    return [
        _Supply(
            source=Source.RECEIPT,
            reference=order.reference,
            first_day=max(order.on, today),
            last_day=order.last_day or date.max,
            left=order.quantity,
        )
        for order in orders
    ]


def _planned_supply(due: date, first_day: date, quantity: int) -> _Supply:
    return _Supply(
        source=Source.NET,
        reference=due.isoformat(),
        first_day=first_day,
        last_day=date.max,
        left=quantity,
    )


_RANK = {Source.LOT: 0, Source.RECEIPT: 1, Source.NET: 2}


def _pegs(need: Need, usable: list[_Supply]) -> list[Peg]:
    """Serve one need: first expired first, then lots before receipts before what is to be bought.

    What is to be bought is met last, so that buying it can be dropped when the need is.
    """
    usable.sort(
        key=lambda supply: (
            supply.last_day,
            _RANK[supply.source],
            supply.first_day,
            supply.reference,
        )
    )
    pegs = []
    left = need.quantity
    for supply in usable:
        taken = supply.take(left)
        left -= taken
        if taken:
            pegs.append(
                Peg(
                    run=need.run,
                    on=need.on,
                    quantity=taken,
                    source=supply.source,
                    reference=supply.reference,
                )
            )
    return pegs
