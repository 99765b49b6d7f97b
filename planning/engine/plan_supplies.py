"""Everything that is there or under way when the plan begins, as one table of supplies.

Lots first, then what is on order, then the kits that open runs will have packed. A scheduled
receipt whose day has gone is taken to arrive today.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from math import nan

import numpy as np

from planning.engine.plan_input import FloatArray, IntArray, PlanInput, PlanLot


class Source(StrEnum):
    """Where a need is served from."""

    LOT = "lot"
    RECEIPT = "scheduled receipt"
    RUN = "run"
    NET = "net requirement"


@dataclass(frozen=True, kw_only=True)
class Supply:
    """What one row of the table stands for: the code of a lot, a purchase order or a run."""

    source: Source
    code: str


@dataclass(frozen=True, kw_only=True, eq=False)
class SupplyTable:
    """Supplies by number.

    Attributes
    ----------
    item, quantity: what, and how many whole units of stock.
    first, last: buckets on which it can be used, both inclusive; it keeps beyond the plan where
        ``last`` is the number of buckets.
    alpha, decay: alpha acid in bucket 0, a share, nan of what is no hop; and its rate of loss.
    """

    item: IntArray
    quantity: IntArray
    first: IntArray
    last: IntArray
    alpha: FloatArray
    decay: FloatArray
    lots: int
    orders: int

    def __len__(self) -> int:
        return len(self.item)


def supply_of(given: PlanInput, table: SupplyTable, number: int) -> Supply:
    """Return what a number of the table stands for."""
    if number < table.lots:
        return Supply(source=Source.LOT, code=given.lots[number].code)
    if number < table.lots + table.orders:
        code = given.on_order[number - table.lots].code
        return Supply(source=Source.RECEIPT, code=code)
    line = given.run_lines[number - table.lots - table.orders]
    return Supply(source=Source.RUN, code=given.runs[line.run].code)


def supplies(given: PlanInput, usable: IntArray) -> SupplyTable:
    """Return the table of a plan.

    Parameters
    ----------
    usable: by bucket in which kits are packed, the first in which they can leave.
    """
    rows = [
        *(_lot(given, lot) for lot in given.lots),
        *(_order(given, place) for place in range(len(given.on_order))),
        *(_run_line(given, place, usable) for place in range(len(given.run_lines))),
    ]
    whole = np.array([row[:4] for row in rows], dtype=np.int64).reshape(-1, 4)
    alpha = np.array([row[4:] for row in rows], dtype=float).reshape(-1, 2)
    item, quantity, first, last = whole.T.copy()
    return SupplyTable(
        item=item,
        quantity=quantity,
        first=first,
        last=last,
        alpha=alpha[:, 0].copy(),
        decay=alpha[:, 1].copy(),
        lots=len(given.lots),
        orders=len(given.on_order),
    )


_Row = tuple[int, int, int, int, float, float]


def _lot(given: PlanInput, lot: PlanLot) -> _Row:
    first = 0 if lot.usable_from is None else given.bucket(lot.usable_from)
    last = given.buckets
    if lot.last_on is not None:
        last = min(last, (lot.last_on - given.today).days)
    alpha = nan if lot.alpha is None else lot.alpha
    return lot.item, lot.quantity, first, last, alpha, lot.decay


def _order(given: PlanInput, place: int) -> _Row:
    order = given.on_order[place]
    item = given.items[order.item]
    arrives_on = max(order.due_on, given.today)
    first = given.bucket(arrives_on + timedelta(days=item.quarantine_days))
    last = given.buckets
    if item.shelf_days is not None:
        last = given.bucket(arrives_on + timedelta(days=item.shelf_days))
    alpha = nan if item.alpha is None else item.alpha_on(arrives_on)
    return order.item, order.quantity, first, last, alpha, 0.0


def _run_line(given: PlanInput, place: int, usable: IntArray) -> _Row:
    line = given.run_lines[place]
    kit = given.kits[given.make_kit[line.make]]
    packed = given.bucket(given.runs[line.run].pack_on)
    first = int(usable[packed]) if packed < given.buckets else given.buckets
    last = given.buckets
    shelf_days = given.items[kit.item].shelf_days
    if shelf_days is not None:
        last = min(last, packed + shelf_days)
    return kit.item, line.kits, first, last, nan, 0.0
