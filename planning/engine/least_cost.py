"""The orders that cost the least in all: purchase, placing each order, and keeping stock.

Where any number of packs may be bought at one price, Wagner and Whitin (1958) is exact: it orders
only when less than a pack is left, so it works on the packs that each bucket adds to the whole
packs needed so far. Under price breaks, a minimum order or a short shelf life the programme walks
every stock that can be left when the next order becomes necessary. It looks at every number of
packs there; beyond ``MOST_CHOICES`` of them in one bucket, at those that end on a bucket's need, at
the minimum and at the price breaks. It orders only when stock does not suffice, which costs nothing
as long as a larger order does not have a higher price.

Of two plans that cost the same, the one that orders later is taken, then the one of fewer packs.

>>> starts, cost = wagner_whitin([90, 120, 80, 70], order_costs=[500] * 4, holding=2.0)
>>> starts, cost
((210, 0, 150, 0), 1380.0)
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from planning.engine.rules import NEVER, LotSizing

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

MOST_CHOICES = 200_000
"""Stocks times numbers of packs that are all looked at in one bucket."""


def wagner_whitin(
    demand: Sequence[int], *, order_costs: Sequence[float], holding: float
) -> tuple[tuple[int, ...], float]:
    """Return what to receive in each bucket, and what placing and keeping it costs.

    Wagner and Whitin, Management Science 5:89 (1958).

    Parameters
    ----------
    demand: what each bucket takes.
    order_costs: for an order that is received in each bucket.
    holding: for keeping one unit from one bucket to the next.
    """
    wanted = np.array([demand], dtype=np.int64)
    received = cheapest_packs(
        wanted,
        order_cost=np.array([order_costs], dtype=float),
        keeping=np.array([holding], dtype=float),
        lasts=np.array([len(demand)], dtype=np.int64),
    )[0]
    kept = int((np.cumsum(received) - np.cumsum(wanted[0])).sum())
    placed = sum(cost for cost, packs in zip(order_costs, received, strict=True) if packs)
    return tuple(received.tolist()), float(placed + holding * kept)


def pack_demand(net: IntArray, pack: IntArray) -> IntArray:
    """Return the packs that each bucket adds to the whole packs needed so far.

    >>> pack_demand(np.array([[3, 6, 2, 20]]), np.array([10])).tolist()
    [[1, 0, 1, 2]]
    """
    packs: IntArray = -(-np.cumsum(net, axis=1) // pack[:, None])
    return np.diff(packs, axis=1, prepend=0)


def cheapest_packs(
    wanted: IntArray,
    *,
    order_cost: FloatArray,
    keeping: FloatArray,
    lasts: IntArray,
    at: IntArray | None = None,
) -> IntArray:
    """Return the packs to receive, [items, buckets], so that placing and keeping cost the least.

    Parameters
    ----------
    wanted: [items, buckets] packs that are needed.
    at: [buckets] rising numbers of the buckets, where only some are given; None: 0, 1, 2, ...
    order_cost: [items, buckets] or [items, 1], for an order.
    keeping: [items] for a pack from one bucket to the next.
    lasts: [items] how many buckets an order may serve.
    """
    items, buckets = wanted.shape
    demand = np.ascontiguousarray(wanted.T)
    placing = np.broadcast_to(order_cost.T, demand.shape)
    keeping_all = keeping * demand
    needed = demand > 0
    # what it costs to have ordered last in each bucket, the latest bucket first
    opened = np.empty((buckets, items))
    numbers = np.arange(buckets) if at is None else at
    back = np.zeros((buckets, items), dtype=np.int64)
    best = np.zeros(items)
    every = np.arange(items)
    oldest = int(lasts.min()) if items else buckets
    for bucket in range(buckets):
        choices = opened[buckets - 1 - bucket :]
        np.add(best, placing[bucket], out=choices[0])
        ages = (numbers[bucket] - numbers[bucket::-1])[:, None]
        choices[1:] += ages[1:] * keeping_all[bucket]
        if ages[-1] >= oldest:
            old = int(np.searchsorted(ages[:, 0], oldest))
            choices[old:][ages[old:] >= lasts] = np.inf
        np.argmin(choices, axis=0, out=back[bucket])
        best = np.where(needed[bucket], choices[back[bucket], every], best)
    return _received(demand, _own(demand) - np.where(needed, back, 0))


def _own(demand: IntArray) -> IntArray:
    """Return the number of each bucket, for all items."""
    return np.broadcast_to(np.arange(len(demand))[:, None], demand.shape)


def _received(demand: IntArray, start: IntArray) -> IntArray:
    """Return the orders, [items, buckets], found by walking back from the last bucket.

    ``start`` is the bucket in which the order is received that serves a bucket if it is the last
    that this order serves.
    """
    buckets, items = demand.shape
    served_from = np.empty((buckets, items), dtype=np.int64)
    current = np.full(items, buckets, dtype=np.int64)
    for bucket in range(buckets - 1, -1, -1):
        current = np.where(current == bucket + 1, start[bucket], current)
        served_from[bucket] = current
    total = np.zeros((buckets + 1, items), dtype=np.int64)
    np.cumsum(demand, axis=0, out=total[1:])
    begins = served_from == _own(demand)
    # what was needed before each order; the least of those that follow is that of the next one
    before = np.where(begins, total[:-1], NEVER)
    following = np.minimum.accumulate(np.concatenate((before[1:], total[-1:]))[::-1])[::-1]
    received: IntArray = np.where(begins, following - total[:-1], 0)
    return received.T


def is_plain(rule: LotSizing, buckets: int) -> bool:
    """Return whether an item can be ordered by :func:`cheapest_packs`.

    One price, no minimum, and a shelf life that no part of a pack can outlast.
    """
    return rule.one_price and (rule.lasts(buckets) >= buckets or rule.pack_quantity == 1)


def cheapest_orders(demand: Sequence[int], rule: LotSizing) -> dict[int, int]:
    """Return the packs to receive by bucket, for whole units that are needed by bucket."""
    if not any(demand):
        return {}
    net = np.array(demand, dtype=np.int64)
    if not is_plain(rule, len(demand)):
        return _Programme(net, rule).orders()
    return plain_orders(net[None], [rule])[0]


def plain_orders(net: IntArray, rules: Sequence[LotSizing]) -> list[dict[int, int]]:
    """Return the packs to receive by bucket, for items each of which :func:`is_plain`.

    Parameters
    ----------
    net: [items, buckets] whole units that are needed.
    """
    wanted = pack_demand(net, np.array([rule.pack_quantity for rule in rules]))
    # nothing is gained by an order for a bucket that needs none
    at = np.flatnonzero(wanted.any(axis=0))
    received = cheapest_packs(
        wanted[:, at],
        order_cost=np.array([[float(rule.order_cost)] for rule in rules]),
        keeping=np.array([rule.holding * rule.pack_quantity for rule in rules]),
        lasts=np.array([rule.lasts(net.shape[1]) for rule in rules]),
        at=at,
    )
    buckets = at.tolist()
    return [
        {bucket: packs for bucket, packs in zip(buckets, row, strict=True) if packs}
        for row in received.tolist()
    ]


class _Stocks(NamedTuple):
    """The stocks that can be left when a bucket needs an order, and the cheapest way to each.

    ``left`` units are left, ``cost`` was spent until then; the order before was of ``packs``, at
    the stock ``origin`` of the bucket ``came_from``.
    """

    left: IntArray
    cost: FloatArray
    packs: IntArray
    came_from: IntArray
    origin: IntArray

    def at(self, chosen: IntArray | slice) -> _Stocks:
        """Return some of them."""
        return _Stocks(
            self.left[chosen],
            self.cost[chosen],
            self.packs[chosen],
            self.came_from[chosen],
            self.origin[chosen],
        )


@dataclass
class _Orders:
    """What may be ordered at the stocks of a bucket: ``origin`` is the stock, for ``packs``."""

    origin: IntArray
    packs: IntArray


class _Programme:
    """Shortest ways over the buckets in which an order becomes necessary."""

    def __init__(self, demand: IntArray, rule: LotSizing) -> None:
        self.rule = rule
        self.demand = demand
        self.buckets = len(demand)
        self.lasts = rule.lasts(self.buckets)
        self.total = np.concatenate(([0], np.cumsum(demand)))
        self.summed = np.concatenate(([0], np.cumsum(self.total[1:])))
        steps = sorted(rule.breaks)
        self.steps = np.array([step for step, _ in steps], dtype=np.int64)
        self.prices = np.array([price for _, price in steps], dtype=np.int64)
        self.reached: list[list[_Stocks]] = [[] for _ in range(self.buckets + 1)]

    def orders(self) -> dict[int, int]:
        """Return the packs to receive by bucket."""
        none = np.zeros(1, dtype=np.int64)
        first = int(np.flatnonzero(self.demand)[0])
        self.reached[first].append(_Stocks(none, np.zeros(1), none, none - 1, none))
        best: list[_Stocks | None] = []
        for bucket in range(self.buckets):
            stocks = _cheapest(self.reached[bucket])
            self.reached[bucket] = []
            best.append(stocks)
            if stocks is not None:
                self._go_on(bucket, stocks)
        ended = _cheapest(self.reached[self.buckets])
        return _way_back(ended, best)

    def _go_on(self, bucket: int, stocks: _Stocks) -> None:
        """Place every order that may be placed, and reach the next bucket that needs one."""
        orders = self._choices(bucket, stocks.left)
        held = stocks.left[orders.origin] + orders.packs * self.rule.pack_quantity
        reach = held + self.total[bucket]
        ends = bucket + self.lasts
        short = np.searchsorted(self.total[1:], reach, side="right")
        until = np.minimum(short, min(ends, self.buckets))
        kept = (until - bucket) * reach - (self.summed[until] - self.summed[bucket])
        cost = (
            stocks.cost[orders.origin]
            + self.rule.order_cost
            + orders.packs
            * self.prices[np.searchsorted(self.steps, orders.packs, side="right") - 1]
            + self.rule.holding * kept
        )
        lives = short < ends
        following = np.where(lives, short, self._next_need(ends))
        ended = following == self.buckets
        left = np.where(lives & ~ended, reach - self.total[np.minimum(short, self.buckets)], 0)
        order = np.argsort(following, kind="stable")
        came_from = np.full(len(order), bucket)
        ways = _Stocks(left, cost, orders.packs, came_from, orders.origin).at(order)
        bounds = np.searchsorted(following[order], np.arange(self.buckets + 2)).tolist()
        for at, (begin, end) in enumerate(pairwise(bounds)):
            if begin < end:
                self.reached[at].append(ways.at(slice(begin, end)))

    def _next_need(self, bucket: int) -> int:
        """Return the first bucket from one on that needs anything."""
        ahead = np.flatnonzero(self.demand[bucket:])
        return bucket + int(ahead[0]) if len(ahead) else self.buckets

    def _choices(self, bucket: int, left: IntArray) -> _Orders:
        """Return the numbers of packs that may be ordered at each stock."""
        ends = bucket + self.lasts
        seen = self.total[bucket + 1 : min(ends, self.buckets) + 1] - self.total[bucket]
        least = np.maximum(self._whole(seen[0] - left), self.rule.fewest_packs)
        most = np.maximum(self._whole(seen[-1] - left), least)
        steps = np.broadcast_to(self.steps, (len(left), len(self.steps)))
        low, high = int(least.min()), int(most.max())
        if self.rule.one_price or len(left) * (high - low) > MOST_CHOICES:
            packs = np.maximum(self._whole(seen - left[:, None]), least[:, None])
            allowed = np.diff(packs, axis=1, prepend=0) > 0
        else:
            packs = np.broadcast_to(np.arange(low, high + 1), (len(left), high - low + 1))
            allowed = (packs >= least[:, None]) & (packs <= most[:, None])
        further = (steps > least[:, None]) & ((ends > self.buckets) | (steps <= most[:, None]))
        packs = np.concatenate((packs, steps), axis=1)
        origin, chosen = np.nonzero(np.concatenate((allowed, further), axis=1))
        return _Orders(origin=origin, packs=packs[origin, chosen])

    def _whole(self, quantity: IntArray) -> IntArray:
        whole: IntArray = -(-quantity // self.rule.pack_quantity)
        return whole


def _cheapest(ways: Sequence[_Stocks]) -> _Stocks | None:
    """Return each stock once, by its cheapest way; later orders first, then fewer packs."""
    if not ways:
        return None
    joined = _Stocks(
        **{name: np.concatenate([getattr(way, name) for way in ways]) for name in _Stocks._fields}
    )
    order = np.lexsort((joined.packs, -joined.came_from, joined.cost, joined.left))
    left = joined.left[order]
    first = order[np.concatenate(([True], left[1:] != left[:-1]))]
    return joined.at(first)


def _way_back(ended: _Stocks | None, best: Sequence[_Stocks | None]) -> dict[int, int]:
    """Return the orders of the cheapest way, followed back from its end."""
    orders: dict[int, int] = {}
    at, stock = ended, 0
    while at is not None and at.came_from[stock] >= 0:
        bucket, origin = int(at.came_from[stock]), int(at.origin[stock])
        orders[bucket] = int(at.packs[stock])
        at, stock = best[bucket], origin
    return dict(sorted(orders.items()))
