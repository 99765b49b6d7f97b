"""The lot rules for many items at once: the same orders as item by item, without the reasons."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planning.engine.least_cost import cheapest_orders, cheapest_packs, pack_demand
from planning.engine.rules import KINDS, LEAST_COST, NEVER, LotSizings

IntArray = NDArray[np.int64]


def sized_many(net: IntArray, sizings: LotSizings) -> IntArray:
    """Return what many items receive, [items, buckets] in whole units of stock.

    Parameters
    ----------
    net: [items, buckets] what is short in each bucket beyond all before it.

    Raises
    ------
    ValueError: a net requirement below zero.

    >>> from planning.engine.rules import FIXED, LotSizing
    >>> rules = LotSizings.of([LotSizing(pack_quantity=10), LotSizing(kind=FIXED, quantity=30)])
    >>> sized_many(np.array([[3, 0, 25, 40], [3, 0, 25, 40]]), rules).tolist()
    [[10, 0, 20, 40], [30, 0, 0, 60]]
    """
    if net.size and net.min() < 0:
        msg = "a net requirement cannot be less than zero"
        raise ValueError(msg)
    buckets = net.shape[1]
    keeps = sizings.keeps >= buckets
    one_price = (sizings.fewest == 1) & (sizings.steps[:, 1:] == NEVER).all(axis=1)
    least_cost = sizings.kind == KINDS.index(LEAST_COST)
    plain = least_cost & one_price & ((sizings.keeps + 1 >= buckets) | (sizings.pack == 1))
    single = (sizings.period == 1) & (sizings.least == 0)
    multiples = keeps & one_price & single & ~least_cost
    packs = np.zeros(net.shape, dtype=np.int64)
    for some, found in (
        (multiples, _multiples),
        (plain, _plain),
        (least_cost & ~plain, _programmes),
        (~least_cost & ~multiples, _walked),
    ):
        if some.all():
            packs = found(net, sizings)
        elif some.any():
            chosen = np.flatnonzero(some)
            packs[chosen] = found(net[chosen], sizings.at(chosen))
    return packs * sizings.pack[:, None]


def _multiples(net: IntArray, sizings: LotSizings) -> IntArray:
    """Order as many of one quantity as the needs so far take."""
    orders = pack_demand(net, sizings.pack * sizings.fixed)
    orders *= sizings.fixed[:, None]
    return orders


def _plain(net: IntArray, sizings: LotSizings) -> IntArray:
    return cheapest_packs(
        pack_demand(net, sizings.pack),
        order_cost=sizings.order_cost[:, None].astype(float),
        keeping=sizings.holding * sizings.pack,
        lasts=np.minimum(sizings.keeps, net.shape[1]) + 1,
    )


def _programmes(net: IntArray, sizings: LotSizings) -> IntArray:
    packs = np.zeros(net.shape, dtype=np.int64)
    for item, (demand, rule) in enumerate(zip(net.tolist(), sizings.rules, strict=True)):
        orders = cheapest_orders(demand, rule)
        packs[item, list(orders)] = list(orders.values())
    return packs


def _walked(net: IntArray, sizings: LotSizings) -> IntArray:
    """Walk the buckets, ordering where the stock of earlier orders does not suffice."""
    items, buckets = net.shape
    walk = _Walk(net, sizings)
    packs = np.empty((buckets, items), dtype=np.int64)
    stock = np.zeros(items, dtype=np.int64)
    ends = np.zeros(items, dtype=np.int64)
    for bucket in range(buckets):
        if walk.dies:
            stock *= ends > bucket
        demand = walk.demand[bucket]
        short = demand > stock
        np.multiply(walk.packs(bucket, stock), short, out=packs[bucket])
        stock += packs[bucket] * sizings.pack
        stock -= demand
        if walk.dies:
            ends = np.where(short, bucket + walk.lasts, ends)
    return packs.T


class _Walk:
    """What all orders of a walk need to know, laid out bucket by bucket."""

    def __init__(self, net: IntArray, sizings: LotSizings) -> None:
        items, buckets = net.shape
        self.sizings = sizings
        self.demand = np.ascontiguousarray(net.T)
        total = np.zeros((buckets + 1, items), dtype=np.int64)
        np.cumsum(self.demand, axis=0, out=total[1:])
        self.lasts = np.minimum(sizings.keeps, buckets) + 1
        self.each = sizings.pack * sizings.fixed
        # what is ahead, and enough to round it up to whole packs by dividing
        self.period = _ahead(total, np.minimum(sizings.period, buckets)) + (self.each - 1)
        self.dies = bool((self.lasts <= buckets).any())
        if self.dies:
            open_ended = np.arange(buckets)[:, None] + self.lasts > buckets
            lasting = _ahead(total, self.lasts) + (sizings.pack - 1)
            self.lasting = np.where(open_ended, NEVER, lasting)
        self.multiplied = bool((sizings.fixed > 1).any())
        self.has_least = bool((sizings.least > 0).any())
        self.steps = np.ascontiguousarray(sizings.steps.T)
        self.prices = np.ascontiguousarray(sizings.prices.T)
        self.costs = np.where(self.steps < NEVER, self.steps * self.prices, NEVER)

    def packs(self, bucket: int, stock: IntArray) -> IntArray:
        """Return the packs that each item orders in a bucket if it is short there."""
        rules = self.sizings
        packs: IntArray = (self.period[bucket] - stock) // self.each
        if self.multiplied:
            packs *= rules.fixed
        if self.has_least:
            np.maximum(packs, rules.least, out=packs)
        most = None
        if self.dies:
            most = (self.lasting[bucket] - stock) // rules.pack
            np.minimum(packs, most, out=packs)
        np.maximum(packs, rules.fewest, out=packs)
        return self._raised(packs, most) if len(self.steps) > 1 else packs

    def _raised(self, packs: IntArray, most: IntArray | None) -> IntArray:
        """Return the packs of the cheapest order: as many, or those of a price break."""
        price = self.prices[0]
        for step, lower in zip(self.steps[1:], self.prices[1:], strict=True):
            price = np.where(packs >= step, lower, price)
        cost, found = packs * price, packs
        for step, whole in zip(self.steps[1:], self.costs[1:], strict=True):
            cheaper = (step > packs) & (whole < cost)
            if most is not None:
                cheaper &= step <= most
            cost = np.where(cheaper, whole, cost)
            found = np.where(cheaper, step, found)
        return found


def _ahead(total: IntArray, span: IntArray) -> IntArray:
    """Return what each bucket and those after it need together, so many buckets of each item."""
    buckets, items = len(total) - 1, total.shape[1]
    until = np.minimum(np.arange(buckets)[:, None] + span, buckets)
    ahead: IntArray = total[until, np.arange(items)] - total[:-1]
    return ahead
