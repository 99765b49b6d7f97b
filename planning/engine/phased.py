"""Many items netted through time at once, with supplies that come, go off and lose their strength.

Receipts arrive at the start of a bucket, demand is taken inside it, and projected on hand is its
end: net = max(0, gross + safety - projected before - scheduled). What is net arrives and is used at
once; sizing comes after, on the net row. Supplies are used in the order in which they are given, of
each item first expired first out; a supply serves no bucket before its first nor after its last.

Hops are wanted by weight, where the weight stands on the sheet, and by alpha acid, where the weight
follows the lot. In a bucket weight is taken first; then every lot gives alpha acid at its share on
that day. A yeast is wanted by several groups, the pickiest first: a lot may be too weak for one and
do for another, so each group may narrow the last bucket of every lot.

Two lots of malt, of which one expires after the second bucket, and 40 on order for the third:

>>> supplies = Supplies(
...     item=np.array([0, 0, 0]), quantity=np.array([50, 30, 40]),
...     first=np.array([0, 0, 2]), last=np.array([1, 9, 9]),
... )
>>> demands = Demands(item=np.array([0]), weight=np.array([[20, 20, 60, 30]]))
>>> found = phased(demands, supplies, items=1)
>>> found.net.tolist(), found.expired.tolist(), found.projected.tolist()
([[0, 0, 0, 20]], [[0, 0, 10, 0]], [[60, 40, 10, 0]])
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from planning.engine.supplies import Supplies

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

_COUNTABLE = float(1 << 62)
_NOISE_MG = 1e-6
"""Far below what a scale shows: alpha acid that rounding leaves over is not asked for again."""
_SMALL = 8_192
"""Padded cells below which all items are netted together."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Demands:
    """What is wanted, by group: most items have one, a yeast one for each way it is asked of.

    Attributes
    ----------
    item: the item of each group; groups of one item are served in this order in each bucket.
    weight: [groups, buckets] whole units of stock.
    alpha: [groups, buckets] milligrams of alpha acid, in groups of items with one group.
    narrowed: by group, the last bucket it may use of each supply of its item, in their order.
    """

    item: IntArray
    weight: IntArray
    alpha: FloatArray | None = None
    narrowed: Mapping[int, IntArray] = field(default_factory=dict)


@dataclass(frozen=True, kw_only=True, eq=False)
class Phased:
    """The netting of all items.

    Attributes
    ----------
    net: [groups, buckets] whole units that must still arrive, safety stock with the last group.
    alpha_net: [groups, buckets] milligrams of alpha acid that must still arrive.
    projected: [items, buckets] what can still be used at the end of each bucket.
    expired: [items, buckets] what went off, unused, before each bucket.
    taken: [supplies, buckets] whole units by weight, one array for the first group of every item,
        one for the second, and so on.
    taken_for_alpha: [supplies, buckets] milligrams of hops taken for their alpha acid, and
        ``alpha_given`` the milligrams of alpha acid that they gave.
    rank: which of its item's groups each group is, and so its array of ``taken``.
    """

    net: IntArray
    alpha_net: FloatArray
    projected: IntArray
    expired: IntArray
    taken: tuple[IntArray, ...]
    taken_for_alpha: IntArray
    alpha_given: FloatArray
    rank: IntArray


def phased(
    demands: Demands,
    supplies: Supplies,
    *,
    items: int,
    safety: IntArray | None = None,
    planned_alpha: FloatArray | None = None,
) -> Phased:
    """Return the netting of every item through all buckets.

    Parameters
    ----------
    items: how many there are.
    safety: [items] usable stock that must be left at the end of each bucket.
    planned_alpha: [items] the share of alpha acid of what is bought to fill a safety stock.

    Raises
    ------
    ValueError: amounts below zero, or more than can be counted.
    """
    _check(demands, supplies)
    kept = np.zeros(items, dtype=np.int64) if safety is None else safety
    netting = _Netting(
        demands=demands,
        supplies=supplies,
        safety=kept,
        planned_alpha=np.zeros(items) if planned_alpha is None else planned_alpha,
        rank=_rank(demands.item),
    )
    for members in _blocks(supplies.item, items):
        _Block(netting, members).walk()
    return netting.result()


def _check(demands: Demands, supplies: Supplies) -> None:
    amounts: list[IntArray | FloatArray] = [demands.weight, supplies.quantity]
    amounts += [demands.alpha] if demands.alpha is not None else []
    for amount in amounts:
        if amount.size and amount.min() < 0:
            msg = "demand and supply cannot be less than zero"
            raise ValueError(msg)
        if amount.sum(dtype=np.float64) >= _COUNTABLE:
            msg = "demand or supply is more than can be counted: look for a wrong unit"
            raise ValueError(msg)


def _rank(item: IntArray) -> IntArray:
    """Return the place of each entry among those of its item."""
    order = np.argsort(item, kind="stable")
    sorted_items = item[order]
    begins = np.flatnonzero(np.diff(sorted_items, prepend=-1))
    rank = np.empty(len(item), dtype=np.int64)
    lengths = np.diff(begins, append=len(item))
    rank[order] = np.arange(len(item)) - np.repeat(begins, lengths)
    return rank


def _blocks(supplied: IntArray, items: int) -> Iterator[IntArray]:
    """Yield items that have about as many supplies, so that few cells stay empty."""
    counts = np.bincount(supplied, minlength=items)
    if items and int(counts.max()) * items <= _SMALL:
        yield np.arange(items)
        return
    sizes = np.ceil(np.log2(np.maximum(counts, 1))).astype(np.int64)
    for size in np.unique(sizes):
        yield np.flatnonzero(sizes == size)


class _Netting:
    """What the blocks read, and where they write what they find."""

    def __init__(
        self,
        *,
        demands: Demands,
        supplies: Supplies,
        safety: IntArray,
        planned_alpha: FloatArray,
        rank: IntArray,
    ) -> None:
        self.demands, self.supplies = demands, supplies
        self.safety, self.planned_alpha, self.rank = safety, planned_alpha, rank
        self.buckets = demands.weight.shape[1]
        self.ranks = int(rank.max(initial=0)) + 1
        items, groups, count = len(safety), len(demands.item), len(supplies.item)
        self.net = np.zeros((groups + 1, self.buckets), dtype=np.int64)
        self.alpha_net = np.zeros((groups + 1, self.buckets))
        self.projected = np.zeros((items, self.buckets), dtype=np.int64)
        self.left = np.append(supplies.quantity, 0)
        self.taken = [
            np.zeros((count + 1, self.buckets), dtype=np.int64) for _ in range(self.ranks)
        ]
        wide = count + 1 if demands.alpha is not None else 1
        self.taken_for_alpha = np.zeros((wide, self.buckets), dtype=np.int64)
        self.alpha_given = np.zeros((wide, self.buckets))
        self.place = _rank(supplies.item)  # of each supply among those of its item
        self.group = np.full((self.ranks, items), groups, dtype=np.int64)
        self.group[rank, demands.item] = np.arange(groups)

    def result(self) -> Phased:
        count = len(self.supplies.item)
        for_alpha, given = self.taken_for_alpha, self.alpha_given
        if self.demands.alpha is None:
            for_alpha = np.zeros((count + 1, self.buckets), dtype=np.int64)
            given = np.zeros((count + 1, self.buckets))
        return Phased(
            net=self.net[:-1],
            alpha_net=self.alpha_net[:-1],
            projected=self.projected,
            expired=self._expired(),
            taken=tuple(taken[:-1] for taken in self.taken),
            taken_for_alpha=for_alpha[:-1],
            alpha_given=given[:-1],
            rank=self.rank,
        )

    def _expired(self) -> IntArray:
        """Return what is left over of each supply, in the bucket after its last."""
        after = np.maximum(self.supplies.last + 1, 0)
        ended = np.flatnonzero(after < self.buckets)
        expired = np.zeros_like(self.projected)
        where = (self.supplies.item[ended], np.maximum(after, self.supplies.first)[ended])
        inside = where[1] < self.buckets
        np.add.at(expired, (where[0][inside], where[1][inside]), self.left[:-1][ended][inside])
        return expired


class _Block:
    """Some items netted together: supplies down, items across."""

    def __init__(self, netting: _Netting, members: IntArray) -> None:
        self.of, self.members = netting, members
        supplies = netting.supplies
        column = np.full(len(netting.safety), -1, dtype=np.int64)
        column[members] = np.arange(len(members))
        mine = np.flatnonzero(column[supplies.item] >= 0)
        depth = int(netting.place[mine].max(initial=0)) + 1
        none = len(supplies.item)
        self.cells = np.full((depth, len(members)), none, dtype=np.int64)
        self.cells[netting.place[mine], column[supplies.item[mine]]] = mine
        self.left = netting.left[self.cells]
        self.first = np.append(supplies.first, 0)[self.cells]
        self.last = np.append(supplies.last, -1)[self.cells]
        self.usable = self._usable(self.last, slice(None))
        self.planned = np.zeros(len(members), dtype=np.int64)
        self.groups = [self._group(rank) for rank in range(netting.ranks)]
        self.hops = self._hops()

    def _usable(self, last: IntArray, columns: slice | IntArray) -> IntArray:
        """Return 1 where a supply can be used, [buckets, supplies, items]."""
        bucket = np.arange(self.of.buckets)[:, None, None]
        usable = (self.first[:, columns] <= bucket) & (last >= bucket)
        return usable.astype(np.int64)

    def _group(self, rank: int) -> _Group | None:
        netting = self.of
        group = netting.group[rank, self.members]
        if rank == 0:
            columns: slice | IntArray = slice(None)
            numbers = group
        else:
            columns = np.flatnonzero(group < len(netting.demands.item))
            numbers = group[columns]
            if not len(numbers):
                return None
        weight = np.vstack([netting.demands.weight, np.zeros(netting.buckets, dtype=np.int64)])
        usable = self.usable if rank == 0 else self.usable[:, :, columns]
        narrowed = [place for place, n in enumerate(numbers) if int(n) in netting.demands.narrowed]
        if narrowed:
            last = self.last[:, columns].copy()
            for place in narrowed:
                own = netting.demands.narrowed[int(numbers[place])]
                last[: len(own), place] = np.minimum(last[: len(own), place], own)
            usable = self._usable(last, columns)
        return _Group(
            rank=rank,
            columns=columns,
            numbers=numbers,
            weight=np.ascontiguousarray(weight[numbers].T),
            usable=usable,
        )

    def _hops(self) -> _Hops | None:
        demands, supplies = self.of.demands, self.of.supplies
        if demands.alpha is None or supplies.alpha is None:
            return None
        group = self.of.group[0, self.members]
        wanted = np.vstack([demands.alpha, np.zeros(self.of.buckets)])[group]
        columns = np.flatnonzero(wanted.any(axis=1))
        if not len(columns):
            return None
        alpha = np.nan_to_num(np.append(supplies.alpha, 0.0))[self.cells[:, columns]]
        decay = np.zeros(len(supplies.item)) if supplies.decay is None else supplies.decay
        return _Hops(
            columns=columns,
            numbers=group[columns],
            wanted=np.ascontiguousarray(wanted[columns].T),
            alpha=alpha,
            lasting=np.exp(-np.append(decay, 0.0)[self.cells[:, columns]]),
        )

    def walk(self) -> None:
        """Net every bucket after the one before it, and write what was found."""
        netting = self.of
        shape = (netting.buckets, *self.cells.shape)
        taken = [np.zeros(shape, dtype=np.int64) for _ in self.groups]
        for bucket in range(netting.buckets):
            for group in self.groups:
                if group is not None:
                    self._serve(group, bucket, taken[group.rank])
            if self.hops is not None:
                self._give_alpha(self.hops, bucket)
            self._end(bucket)
        netting.left[self.cells] = self.left
        for rank, group in enumerate(self.groups):
            if group is not None:
                netting.taken[rank][self.cells] = np.moveaxis(taken[rank], 0, -1)

    def _serve(self, group: _Group, bucket: int, taken: IntArray) -> None:
        columns = group.columns
        wanted = group.weight[bucket]
        can = self.left[:, columns] * group.usable[bucket]
        reached = np.cumsum(can, axis=0)
        from_lots = np.minimum(wanted, reached[-1])
        reached -= can
        np.subtract(from_lots, reached, out=reached)
        np.minimum(reached, can, out=reached)
        np.maximum(reached, 0, out=reached)
        self.left[:, columns] -= reached
        taken[bucket][:, columns] = reached
        lacking = wanted - from_lots
        from_planned = np.minimum(lacking, self.planned[columns])
        self.planned[columns] -= from_planned
        lacking -= from_planned
        self.of.net[group.numbers, bucket] = lacking

    def _give_alpha(self, hops: _Hops, bucket: int) -> None:
        columns = hops.columns
        can = self.left[:, columns] * self.usable[bucket][:, columns]
        alpha = hops.alpha * hops.lasting**bucket
        gives = can * alpha
        reached = np.cumsum(gives, axis=0)
        wanted = hops.wanted[bucket]
        from_lots = np.minimum(wanted, reached[-1])
        given = np.clip(from_lots - (reached - gives), 0.0, gives)
        with np.errstate(divide="ignore", invalid="ignore"):
            weight = np.where(alpha > 0, np.ceil(given / alpha - _NOISE_MG), 0.0)
        weights = np.minimum(weight.astype(np.int64), can)
        self.left[:, columns] -= weights
        cells = self.cells[:, columns]
        self.of.taken_for_alpha[cells, bucket] = weights
        self.of.alpha_given[cells, bucket] = given
        lacking = wanted - from_lots
        lacking -= self._planned_alpha(columns, lacking)
        lacking[lacking <= _NOISE_MG * np.maximum(wanted, 1.0)] = 0.0
        self.of.alpha_net[hops.numbers, bucket] = lacking

    def _planned_alpha(self, columns: IntArray, wanted: FloatArray) -> FloatArray:
        """Return the alpha acid that hops bought for the safety stock give."""
        alpha = self.of.planned_alpha[self.members[columns]]
        planned = self.planned[columns]
        given = np.minimum(wanted, planned * alpha)
        with np.errstate(divide="ignore", invalid="ignore"):
            weight = np.where(alpha > 0, np.ceil(given / alpha - _NOISE_MG), 0.0)
        self.planned[columns] = np.maximum(planned - weight.astype(np.int64), 0)
        return given

    def _end(self, bucket: int) -> None:
        """Fill the safety stock and write what is left."""
        netting = self.of
        left = (self.left * self.usable[bucket]).sum(axis=0) + self.planned
        missing = np.maximum(netting.safety[self.members] - left, 0)
        if missing.any():
            self.planned += missing
            netting.net[self._last_groups(), bucket] += missing
            left += missing
        netting.projected[self.members, bucket] = left

    def _last_groups(self) -> IntArray:
        """Return the last group of each item, to which its safety stock is written."""
        found: IntArray = self.of.group[0, self.members]
        for rank in range(1, self.of.ranks):
            later = self.of.group[rank, self.members]
            found = np.where(later < len(self.of.demands.item), later, found)
        return found


@dataclass(frozen=True, kw_only=True, eq=False)
class _Group:
    """The demand of one rank in a block: the columns it is of, and their groups."""

    rank: int
    columns: slice | IntArray
    numbers: IntArray
    weight: IntArray
    usable: IntArray


@dataclass(frozen=True, kw_only=True, eq=False)
class _Hops:
    """The columns of a block that are wanted by alpha acid.

    ``lasting`` is the share of its alpha acid that a supply keeps from one bucket to the next.
    """

    columns: IntArray
    numbers: IntArray
    wanted: FloatArray
    alpha: FloatArray
    lasting: FloatArray
