"""From a net requirement by bucket to orders: how much, when, and why so much.

An order is placed for the first bucket that the stock of earlier orders does not serve. The
house's rule says how far it reaches; then come the packs, the minimum and the price breaks of the
supplier. Nothing is bought that would have to be kept for longer than it lasts, except what fills
the last pack or the supplier's minimum, and that is not counted on afterwards.

>>> rule = LotSizing(kind=PERIOD, period=3, pack_quantity=10)
>>> [(order.bucket, order.packs, order.through) for order in sized([3, 0, 25, 40], rule)]
[(0, 3, 2), (3, 4, 3)]
"""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import accumulate

import numpy as np
from numpy.typing import NDArray

from planning.engine.least_cost import cheapest_orders
from planning.engine.packs import raised, rounded_up
from planning.engine.rules import (
    FIXED,
    LEAST_COST,
    LOT_FOR_LOT,
    MINIMUM,
    PERIOD,
    LotSizing,
    LotSizings,
)
from planning.engine.sizing_many import sized_many

__all__ = [
    "FIXED",
    "LEAST_COST",
    "LOT_FOR_LOT",
    "MINIMUM",
    "PERIOD",
    "LotSizing",
    "LotSizings",
    "SizedOrder",
    "holding_cost",
    "plan_cost",
    "sized",
    "sized_many",
]

IntArray = NDArray[np.int64]
DAYS_A_YEAR = 365


@dataclass(frozen=True, kw_only=True)
class SizedOrder:
    """An order that arrives at the start of ``bucket``; the last that it serves is ``through``.

    ``cost`` is its purchase in ten-thousandths; ``reasons`` says in plain words why it is not
    exactly what that bucket is short of.
    """

    bucket: int
    through: int
    packs: int
    quantity: int
    cost: int
    reasons: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class _Need:
    """What an order is placed for, beyond the stock: its bucket, its period, while it keeps."""

    bucket: int
    short: int
    period: int
    lasting: int | None


def sized(
    net: Sequence[int] | IntArray, rule: LotSizing, planned: Mapping[int, int] | None = None
) -> tuple[SizedOrder, ...]:
    """Return the orders of one item.

    Parameters
    ----------
    net: what is short in each bucket beyond all before it, in whole units of stock.
    planned: the packs of least cost by bucket, where they are known already.

    Raises
    ------
    ValueError: a net requirement below zero.
    """
    demand = np.asarray(net, dtype=np.int64).tolist()
    if min(demand, default=0) < 0:
        msg = "a net requirement cannot be less than zero"
        raise ValueError(msg)
    days = [bucket for bucket, quantity in enumerate(demand) if quantity]
    if not days:
        return ()
    if planned is None:
        planned = cheapest_orders(demand, rule) if rule.kind == LEAST_COST else {}
    found = list(_walked(demand, days, rule, planned))
    ends = [*(bucket for bucket, _, _ in found[1:]), len(demand)]
    lasts = rule.lasts(len(demand))
    return tuple(
        SizedOrder(
            bucket=bucket,
            through=days[bisect_left(days, min(end, bucket + lasts)) - 1],
            packs=packs,
            quantity=packs * rule.pack_quantity,
            cost=rule.cost(packs),
            reasons=reasons,
        )
        for (bucket, packs, reasons), end in zip(found, ends, strict=True)
    )


def plan_cost(
    net: Sequence[int] | IntArray, orders: Sequence[SizedOrder], rule: LotSizing
) -> float:
    """Return what orders cost in all, in ten-thousandths.

    That is their purchase, the placing of each, and the keeping of what is left at the end of
    each bucket for as long as it can be used.
    """
    arriving = {order.bucket: order.quantity for order in orders}
    cost = float(sum(order.cost + rule.order_cost for order in orders))
    stock, last = 0, 0
    for bucket, quantity in enumerate(net):
        if bucket > last:
            stock = 0
        if bucket in arriving:
            stock += arriving[bucket]
            last = bucket + rule.lasts(len(net)) - 1
        stock -= min(stock, int(quantity))
        cost += rule.holding * stock
    return cost


def holding_cost(*, share_a_year: float, price: int, quantity: int, days: int) -> float:
    """Return ten-thousandths for keeping one unit of stock for a bucket of so many days.

    Parameters
    ----------
    share_a_year: what keeping stock for a year costs, as a share of its value.
    price: ten-thousandths paid for ``quantity`` units (a pack).

    >>> holding_cost(share_a_year=0.2, price=365_000, quantity=1_000, days=7)
    1.4
    """
    return share_a_year * price / quantity * days / DAYS_A_YEAR


def _walked(
    demand: Sequence[int], days: Sequence[int], rule: LotSizing, planned: Mapping[int, int]
) -> Iterator[tuple[int, int, tuple[str, ...]]]:
    """Yield bucket, packs and reasons of each order, placed when the stock does not suffice.

    ``days`` are the buckets in which anything is needed, the only ones to be walked.
    """
    total = [0, *accumulate(demand)]
    span, lasts = rule.spans(len(demand)), rule.lasts(len(demand))
    stock, ends = 0, 0
    for bucket in days:
        quantity = demand[bucket]
        if bucket >= ends:
            stock = 0
        if quantity > stock:
            seen = min(bucket + span, len(demand))
            ends = bucket + lasts
            need = _Need(
                bucket=bucket,
                short=quantity - stock,
                period=total[seen] - total[bucket] - stock,
                lasting=total[ends] - total[bucket] - stock if ends <= len(demand) else None,
            )
            packs, reasons = _chosen(need, rule, planned)
            yield bucket, packs, reasons
            stock += packs * rule.pack_quantity
        stock -= quantity


def _chosen(
    need: _Need, rule: LotSizing, planned: Mapping[int, int]
) -> tuple[int, tuple[str, ...]]:
    """Return how many packs to order, and why."""
    whole = rule.whole(need.period)
    if rule.kind == LEAST_COST:
        packs = planned[need.bucket]
        least = max(whole, rule.fewest_packs)
        told = (*raised(rule, whole, least), *_least_cost_reasons(least, packs))
        return packs, (*rounded_up(rule, need.short), *told)
    asked = _ASKED[rule.kind](need, rule)
    most = None if need.lasting is None else rule.whole(need.lasting)
    wanted = asked if most is None else min(asked, most)
    packs = rule.bought(wanted, most=most)
    return packs, (
        *_period_reasons(need, rule),
        *rounded_up(rule, need.period),
        *_rule_reasons(rule, whole, asked, wanted),
        *raised(rule, wanted, packs),
    )


def _fixed(need: _Need, rule: LotSizing) -> int:
    each = rule.whole(rule.quantity)
    return -(-need.short // (each * rule.pack_quantity)) * each


_ASKED: Mapping[str, Callable[[_Need, LotSizing], int]] = {
    LOT_FOR_LOT: lambda need, rule: rule.whole(need.short),
    FIXED: _fixed,
    PERIOD: lambda need, rule: rule.whole(need.period),
    MINIMUM: lambda need, rule: max(rule.whole(need.short), rule.whole(rule.quantity)),
}


_WHY: Mapping[str, str] = {
    FIXED: "this item is ordered in a fixed quantity",
    MINIMUM: "the house's own minimum for this item",
}


def _period_reasons(need: _Need, rule: LotSizing) -> Iterator[str]:
    if need.period > need.short:
        how_long = "in its period" if rule.period else "while it keeps"
        yield f"One order covers all that is needed {how_long}."


def _rule_reasons(rule: LotSizing, whole: int, asked: int, wanted: int) -> Iterator[str]:
    if asked > whole:
        yield f"Raised from {whole} to {asked} packs: {_WHY[rule.kind]}."
    if wanted < asked:
        yield f"Lowered from {asked} to {wanted} packs: more would not keep until it is used."


def _least_cost_reasons(least: int, packs: int) -> Iterator[str]:
    if packs > least:
        yield (
            f"Raised from {least} to {packs} packs: purchase, ordering and keeping cost the least "
            "in all."
        )
