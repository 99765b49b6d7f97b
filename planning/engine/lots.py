"""Lots in the order they are used up, and what a need draws from them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from typing import TypeVar


@dataclass(frozen=True, kw_only=True)
class LotSupply:
    """What one lot can still give.

    Attributes
    ----------
    lot: the lot's id.
    code: the lot's code.
    available: whole units of stock that are neither reserved nor held.
    first_day: first day it may be used (its receipt); None: always.
    last_day: last day it may be used; None: it does not expire.
    """

    lot: int
    code: str
    available: int
    first_day: date | None = None
    last_day: date | None = None

    def usable(self, on: date) -> bool:
        """Whether the lot may be used on that day; its last day still counts."""
        arrived = self.first_day is None or self.first_day <= on
        return arrived and (self.last_day is None or on <= self.last_day)


@dataclass(frozen=True, kw_only=True)
class Draw:
    """What a need takes from each lot as ``(lot, quantity)``, and what no lot could give."""

    rows: tuple[tuple[int, int], ...]
    short: int


AnyLot = TypeVar("AnyLot", bound=LotSupply)


def first_expired_first_out(lots: Iterable[AnyLot]) -> list[AnyLot]:
    """Return the lots by last day (those that never expire last), then first day, then code."""
    return sorted(
        lots,
        key=lambda lot: (lot.last_day or date.max, lot.first_day or date.min, lot.code, lot.lot),
    )


def drawn(quantity: int, lots: Iterable[LotSupply], on: date) -> Draw:
    """Return what a divisible thing takes from lots usable on that day, first expired first.

    >>> old = LotSupply(lot=1, code="A", available=30, last_day=date(2025, 5, 1))
    >>> new = LotSupply(lot=2, code="B", available=30, last_day=date(2025, 9, 1))
    >>> drawn(40, [new, old], date(2025, 5, 1))
    Draw(rows=((1, 30), (2, 10)), short=0)
    >>> drawn(40, [new, old], date(2025, 5, 2))
    Draw(rows=((2, 30),), short=10)
    """
    rows = []
    left = quantity
    for lot in first_expired_first_out(lots):
        taken = min(left, lot.available) if lot.usable(on) else 0
        if taken > 0:
            rows.append((lot.lot, taken))
            left -= taken
    return Draw(rows=tuple(rows), short=left)
