"""Items side by side, each served by its lots in turn, every lot through all buckets at once.

In every bucket the lots of an item are used in one order. So the first has the first claim on the
need of each bucket in which it can serve; the second on what that leaves; and so on. What one lot
serves is the running sum of those needs, cut off at what it holds.

Rows are items, those with the most lots first. In a bucket the needs of an item stand in the order
in which they are served: by weight, group after group, then by alpha acid.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

NOISE_MG = 1e-6
"""Far below what a scale shows: alpha acid that rounding leaves over is not asked for again."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Served:
    """What one lot of each of some items gave.

    Attributes
    ----------
    taken: [lots, buckets, groups] whole units.
    left: [lots] what is over of each.
    for_alpha, given: [lots, buckets] milligrams taken for alpha acid, and of it.
    """

    taken: IntArray
    left: IntArray
    for_alpha: IntArray | None = None
    given: FloatArray | None = None


class Family:
    """Items with as many groups of needs each.

    Attributes
    ----------
    wanted: [items, buckets, groups] what is still wanted by weight, at last what is net.
    alpha: [items, buckets] milligrams of alpha acid that are still wanted, or None.
    left: [items, buckets] what can still be used at the end of each bucket.
    """

    def __init__(self, *, wanted: IntArray, alpha: FloatArray | None) -> None:
        self.wanted, self.alpha = wanted, alpha
        self.left = np.zeros(wanted.shape[:2], dtype=np.int64)
        self._bucket = np.arange(wanted.shape[1])

    def serve(
        self,
        *,
        quantity: IntArray,
        first: IntArray,
        last: IntArray,
        last_by_rank: Sequence[IntArray],
        strength: FloatArray | None,
    ) -> Served:
        """Take a lot of each of the first items; ``strength`` is its alpha acid in each bucket."""
        wanted = self.wanted[: len(quantity)]
        groups = wanted.shape[2]
        started = self._bucket >= first[:, None]
        usable = started & (self._bucket <= last[:, None])
        can = np.empty((*wanted.shape[:2], groups + (strength is not None)), dtype=np.int64)
        for rank, until in enumerate(last_by_rank):
            serves = usable if until is last else started & (self._bucket <= until[:, None])
            np.multiply(wanted[:, :, rank], serves, out=can[:, :, rank])
        if strength is not None:
            # more than there is will not be given, and might not be countable
            can[:, :, groups] = np.minimum(self._by_alpha(strength, usable), quantity[:, None] + 1)
        running = np.cumsum(can.reshape(len(can), -1), axis=1)
        np.minimum(running, quantity[:, None], out=running)
        taken = np.empty_like(running)
        taken[:, :1] = running[:, :1]
        np.subtract(running[:, 1:], running[:, :-1], out=taken[:, 1:])
        taken = taken.reshape(can.shape)
        over = quantity[:, None] - running[:, can.shape[2] - 1 :: can.shape[2]]
        self.left[: len(can)] += over * usable
        wanted -= taken[:, :, :groups]
        if strength is None:
            return Served(taken=taken, left=over[:, -1])
        for_alpha = taken[:, :, groups]
        given = self._give(strength, usable, for_alpha, enough=for_alpha == can[:, :, groups])
        return Served(
            taken=taken[:, :, :groups], left=over[:, -1], for_alpha=for_alpha, given=given
        )

    def _by_alpha(self, strength: FloatArray, usable: BoolArray) -> FloatArray:
        """Return the milligrams that would serve all that is wanted by alpha acid."""
        weight = np.zeros(strength.shape)
        if self.alpha is None:
            return weight
        np.divide(self.alpha[: len(strength)], strength, out=weight, where=usable & (strength > 0))
        weight -= NOISE_MG
        return np.ceil(weight, out=weight)

    def _give(
        self, strength: FloatArray, usable: BoolArray, taken: IntArray, *, enough: BoolArray
    ) -> FloatArray:
        given: FloatArray = taken * strength
        if self.alpha is not None:
            alpha = self.alpha[: len(taken)]
            np.copyto(given, alpha, where=enough & usable & (strength > 0))
            alpha -= given
        return given

    def fill(self, safety: IntArray, planned_alpha: FloatArray) -> None:
        """Let what is net fill the safety stock too, and what was bought for it serve later needs.

        It is net of the last group. ``planned_alpha`` is the share of alpha acid of what is bought.
        """
        if not safety.any():
            return
        groups = self.wanted.shape[2]
        items = len(self.left)
        by_alpha = self.alpha is not None
        needs = np.zeros((*self.left.shape, groups + by_alpha + 1), dtype=np.int64)
        needs[:, :, :groups] = self.wanted
        if self.alpha is not None:
            needs[:, :, groups] = self._in_planned(self.alpha, planned_alpha)
        needed = np.cumsum(needs.reshape(items, -1), axis=1).reshape(needs.shape)
        bought = needed.copy()
        bought[:, :, -1] += np.maximum(safety[:, None] - self.left, 0)
        bought = np.maximum.accumulate(bought.reshape(items, -1), axis=1)
        net = np.diff(bought, axis=1, prepend=0).reshape(needs.shape)
        self.wanted[:] = net[:, :, :groups]
        self.wanted[:, :, -1] += net[:, :, -1]
        self.left += bought.reshape(needs.shape)[:, :, -1] - needed[:, :, -1]
        if self.alpha is not None:
            from_planned = needs[:, :, groups] - net[:, :, groups]
            self.alpha -= from_planned * planned_alpha[:, None]
            np.maximum(self.alpha, 0.0, out=self.alpha)

    @staticmethod
    def _in_planned(alpha: FloatArray, planned_alpha: FloatArray) -> FloatArray:
        """Return alpha acid in milligrams of what is bought; 0 where that holds none."""
        weight = np.zeros(alpha.shape)
        strength = planned_alpha[:, None]
        np.divide(alpha, strength, out=weight, where=np.broadcast_to(strength > 0, alpha.shape))
        weight -= NOISE_MG
        return np.ceil(weight, out=weight)
