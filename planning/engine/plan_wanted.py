"""The kits that are wanted by day: customer orders, and the forecast that they leave.

What is left of a week's forecast is wanted on the last working day of the week, of the current week
from today on. An order whose day has gone is wanted today.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from planning.engine.consumption import forecast_left
from planning.engine.plan_causes import Causes
from planning.engine.plan_input import DAYS_A_WEEK, BoolArray, IntArray, PlanInput


@dataclass(frozen=True, kw_only=True, eq=False)
class Wanted:
    """Entries of what is wanted, of equal length: what, by which bucket, how much, for what.

    ``make`` is -1 where what is wanted is not packed as any make.
    """

    item: IntArray
    bucket: IntArray
    quantity: IntArray
    cause: IntArray
    make: IntArray

    def __len__(self) -> int:
        return len(self.item)

    def at(self, chosen: IntArray | BoolArray) -> Wanted:
        """Return some of the entries, by place or by mask."""
        return Wanted(
            item=self.item[chosen],
            bucket=self.bucket[chosen],
            quantity=self.quantity[chosen],
            cause=self.cause[chosen],
            make=self.make[chosen],
        )

    @classmethod
    def of(cls, rows: list[tuple[int, int, int, int, int]]) -> Wanted:
        """Return entries from rows of item, bucket, quantity, cause and make."""
        columns = np.array(rows, dtype=np.int64).reshape(-1, 5).T.copy()
        return cls(
            **dict(zip(("item", "bucket", "quantity", "cause", "make"), columns, strict=True))
        )


def joined(*parts: Wanted) -> Wanted:
    """Return the entries of all parts, one after another."""
    return Wanted(
        **{
            name: np.concatenate([getattr(part, name) for part in parts])
            for name in ("item", "bucket", "quantity", "cause", "make")
        }
    )


def wanted_by_customers(given: PlanInput, causes: Causes) -> Wanted:
    """Return what customers want within the plan: their orders, then what is foreseen."""
    return joined(_ordered(given, causes), _foreseen(given, causes))


def forecast_to_come(given: PlanInput) -> IntArray:
    """Return what orders leave of the forecast, [kits, weeks]."""
    ordered = np.zeros_like(given.forecast)
    for line in given.order_lines:
        if line.make is not None:
            promised_on = given.orders[line.order].promised_on
            week = (promised_on - given.first_week).days // DAYS_A_WEEK
            if 0 <= week < ordered.shape[1]:
                ordered[given.make_kit[line.make], week] += line.ordered
    house = given.house
    return forecast_left(
        ordered, given.forecast, back=house.consume_back, forward=house.consume_forward
    )


def _ordered(given: PlanInput, causes: Causes) -> Wanted:
    rows = []
    for line in given.order_lines:
        bucket = given.bucket(given.orders[line.order].promised_on)
        if not line.left or bucket >= given.buckets:
            continue
        make = -1 if line.make is None else line.make
        item = line.item if line.make is None else _item_of(given, line.make)
        rows.append((item, bucket, line.left, causes.orders + line.order, make))
    return Wanted.of(rows)  # type: ignore[arg-type]  # a line names a make or an item


def _item_of(given: PlanInput, make: int) -> int:
    return given.kits[int(given.make_kit[make])].item


def _foreseen(given: PlanInput, causes: Causes) -> Wanted:
    left = forecast_to_come(given)
    buckets = np.array([_day_of_week(given, week) for week in range(left.shape[1])], dtype=int)
    sold_until = np.array(
        [
            given.buckets if kit.last_sale_on is None else (kit.last_sale_on - given.today).days
            for kit in given.kits
        ],
        dtype=np.int64,
    )
    counts = (buckets >= 0) & (buckets < given.weeks * DAYS_A_WEEK)
    kit, week = np.nonzero((left > 0) & counts & (buckets <= sold_until[:, None]))
    items = np.array([kit.item for kit in given.kits], dtype=np.int64)
    return Wanted(
        item=items[kit],
        bucket=buckets[week],
        quantity=left[kit, week],
        cause=causes.weeks + week,
        make=kit.astype(np.int64),
    )


def _day_of_week(given: PlanInput, week: int) -> int:
    """Return the bucket on which what is foreseen for a week is wanted; -1: it is over."""
    sunday = given.first_week + timedelta(days=DAYS_A_WEEK * week + DAYS_A_WEEK - 1)
    if sunday < given.today:
        return -1
    return max(0, (given.calendar.on_or_before(sunday) - given.today).days)
