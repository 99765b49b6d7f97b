"""Writing the orders of a kept plan: thousands of rows that nobody changes again.

They are inserted row by row as the database takes them, without a model object for each: that is
most of the time of keeping a plan. The constraints of the table hold as for any other row.
"""

from __future__ import annotations

import json
from collections.abc import Iterable
from datetime import date
from functools import cache
from typing import NamedTuple

from django.db import connection

from planning.models import Plan, PlannedOrder


class OrderToKeep(NamedTuple):
    """A run or a purchase as :class:`~planning.models.PlannedOrder` keeps it."""

    item_id: int
    offer_id: int | None
    quantity: int
    need_by: date
    order_by: date
    past_due: bool
    cost: int
    pegs: Iterable[tuple[str, int]]


def insert_planned_orders(plan: Plan, orders: Iterable[OrderToKeep]) -> None:
    """Insert what a plan proposed; within the transaction of the service that keeps it."""
    names = ("plan_id", *OrderToKeep._fields)
    quote = connection.ops.quote_name
    columns = ", ".join(quote(name) for name in names)
    marks = ", ".join(["%s"] * len(names))
    statement = f"INSERT INTO {quote(PlannedOrder._meta.db_table)} ({columns}) VALUES ({marks})"  # noqa: S608 - names of our own table
    day = connection.ops.adapt_datefield_value
    said = cache(json.dumps)  # the same few names stand in thousands of rows
    rows = [
        (
            plan.pk,
            order.item_id,
            order.offer_id,
            order.quantity,
            day(order.need_by),
            day(order.order_by),
            order.past_due,
            order.cost,
            f"[{', '.join(f'[{said(name)}, {much}]' for name, much in order.pegs)}]",
        )
        for order in orders
    ]
    if rows:
        with connection.cursor() as cursor:
            cursor.executemany(statement, rows)
