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

from planning.engine.lots_in_turn import NOISE_MG, Family
from planning.engine.supplies import Supplies

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]

_COUNTABLE = float(1 << 53)
"""Sums over the buckets, and of numbers with fractions, stay exact below it."""


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
    kept = np.zeros(items, dtype=np.int64) if safety is None else safety
    _check(demands, supplies, kept)
    netting = _Netting(
        demands=demands,
        supplies=supplies,
        safety=kept,
        planned_alpha=np.zeros(items) if planned_alpha is None else planned_alpha,
    )
    for ranks, by_alpha in netting.families():
        netting.net_family(ranks, by_alpha=by_alpha)
    return netting.result()


def _check(demands: Demands, supplies: Supplies, safety: IntArray) -> None:
    amounts: list[IntArray | FloatArray] = [demands.weight, supplies.quantity, safety]
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


class _Netting:
    """What families of items are cut out of, and where what they find is written.

    The items of a family have as many groups each, and are all wanted by alpha acid or none.
    """

    def __init__(
        self, *, demands: Demands, supplies: Supplies, safety: IntArray, planned_alpha: FloatArray
    ) -> None:
        self.demands, self.supplies = demands, supplies
        self.safety, self.planned_alpha = safety, planned_alpha
        self.rank = _rank(demands.item)
        self.buckets = demands.weight.shape[1]
        items, groups, count = len(safety), len(demands.item), len(supplies.item)
        self.ranks = int(self.rank.max(initial=0)) + 1
        self.group = np.full((self.ranks, items), -1, dtype=np.int64)
        self.group[self.rank, demands.item] = np.arange(groups)
        self.by_alpha = np.zeros(items, dtype=bool)
        if demands.alpha is not None:
            self.by_alpha[demands.item[demands.alpha.any(axis=1)]] = True
        self.family = np.maximum((self.group >= 0).sum(axis=0), 1) * 2 + self.by_alpha
        self.by_item = np.argsort(supplies.item, kind="stable")
        self.counts = np.bincount(supplies.item, minlength=items)
        self.begins = np.cumsum(self.counts) - self.counts
        self.last = self._last_by_rank()
        self.left = supplies.quantity.copy()
        self.net = np.zeros((groups, self.buckets), dtype=np.int64)
        self.alpha_net = np.zeros((groups, self.buckets))
        self.projected = np.zeros((items, self.buckets), dtype=np.int64)
        shape = (count, self.buckets)
        self.taken = [np.zeros(shape, dtype=np.int64) for _ in range(self.ranks)]
        self.taken_for_alpha = np.zeros(shape, dtype=np.int64)
        self.alpha_given = np.zeros(shape)

    def _last_by_rank(self) -> list[IntArray]:
        """Return the last bucket of each supply for the groups of each rank."""
        last = [self.supplies.last] * self.ranks
        for group, own in self.demands.narrowed.items():
            rank, item = int(self.rank[group]), int(self.demands.item[group])
            if last[rank] is self.supplies.last:
                last[rank] = self.supplies.last.copy()
            begin = self.begins[item]
            mine = self.by_item[begin : begin + len(own)]
            last[rank][mine] = np.minimum(last[rank][mine], own)
        return last

    def families(self) -> Iterator[tuple[int, bool]]:
        """Yield how many groups the items of each family have, and whether by alpha acid."""
        for family in np.flatnonzero(np.bincount(self.family)).tolist():
            yield family // 2, bool(family % 2)

    def net_family(self, ranks: int, *, by_alpha: bool) -> None:
        """Net the items of a family, and write what is found."""
        members = np.flatnonzero(self.family == ranks * 2 + by_alpha)
        members = members[np.argsort(-self.counts[members], kind="stable")]
        groups = self.group[:ranks, members]
        wanted = np.zeros((len(members), self.buckets, ranks), dtype=np.int64)
        for rank, numbers in enumerate(groups):
            there = numbers >= 0
            wanted[there, :, rank] = self.demands.weight[numbers[there]]
        alpha = (
            self.demands.alpha[groups[0]] if by_alpha and self.demands.alpha is not None else None
        )
        family = Family(wanted=wanted, alpha=None if alpha is None else alpha.copy())
        counts = self.counts[members]
        for depth in range(int(counts.max(initial=0))):
            first_members = members[: int((counts > depth).sum())]
            self._serve(family, self.by_item[self.begins[first_members] + depth])
        family.fill(self.safety[members], self.planned_alpha[members])
        self.projected[members] = family.left
        for rank, numbers in enumerate(groups):
            there = numbers >= 0
            self.net[numbers[there]] = family.wanted[there, :, rank]
        if alpha is not None and family.alpha is not None:
            noise = family.alpha <= NOISE_MG * np.maximum(alpha, 1.0)
            self.alpha_net[groups[0]] = np.where(noise, 0.0, family.alpha)

    def _serve(self, family: Family, lots: IntArray) -> None:
        """Let the next lot of each item that has one serve it."""
        supplies = self.supplies
        ranks = family.wanted.shape[2]
        served = family.serve(
            quantity=supplies.quantity[lots],
            first=supplies.first[lots],
            last=supplies.last[lots],
            last_by_rank=[self.last[rank][lots] for rank in range(ranks)],
            strength=self._strength(lots) if family.alpha is not None else None,
        )
        for rank in range(ranks):
            self.taken[rank][lots] = served.taken[:, :, rank]
        self.left[lots] = served.left
        if served.for_alpha is not None and served.given is not None:
            self.taken_for_alpha[lots], self.alpha_given[lots] = served.for_alpha, served.given

    def _strength(self, lots: IntArray) -> FloatArray:
        """Return the share of alpha acid of lots in each bucket."""
        supplies = self.supplies
        if supplies.alpha is None:
            return np.zeros((len(lots), self.buckets))
        decay = np.zeros(len(lots)) if supplies.decay is None else supplies.decay[lots]
        kept: FloatArray = np.exp(-decay[:, None] * np.arange(self.buckets))
        return kept * np.nan_to_num(supplies.alpha[lots])[:, None]

    def result(self) -> Phased:
        """Return what all families found."""
        return Phased(
            net=self.net,
            alpha_net=self.alpha_net,
            projected=self.projected,
            expired=self._expired(),
            taken=tuple(self.taken),
            taken_for_alpha=self.taken_for_alpha,
            alpha_given=self.alpha_given,
            rank=self.rank,
        )

    def _expired(self) -> IntArray:
        """Return what is left over of each supply, in the bucket after its last."""
        after = np.maximum(self.supplies.last + 1, 0)
        ended = np.flatnonzero(after < self.buckets)
        expired = np.zeros_like(self.projected)
        where = (self.supplies.item[ended], np.maximum(after, self.supplies.first)[ended])
        inside = where[1] < self.buckets
        np.add.at(expired, (where[0][inside], where[1][inside]), self.left[ended][inside])
        return expired
