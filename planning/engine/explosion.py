"""Bills exploded, level by level: what so many of these take of those.

An item stands on the lowest level at which anything takes it, its low-level code, so that all that
is wanted of it is known before it is netted. A row of a bill is rounded up by itself in every
bucket, as :func:`planning.engine.usage.quantity_needed` does when it is reserved.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_ROUNDING_NOISE = 1e-9  # of a step, as recipes.brewing.bill has it
_EXACT = float(1 << 53)
"""Above it a float does not hold every whole number."""
_ROWS_AT_ONCE = 1_024
"""Rows of bills that are multiplied together: few enough to stay in the processor's cache."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Bills:
    """The rows of all bills: arrays of one length, of places among the items or of amounts.

    Attributes
    ----------
    parent, component: what takes, and what is taken.
    packed: whole units of the component in one piece of the parent.
    overage: share lost on top of what is packed.
    """

    parent: IntArray
    component: IntArray
    packed: IntArray
    overage: FloatArray

    def at(self, chosen: BoolArray | IntArray | slice) -> Bills:
        """Return some of the rows, by mask, place or slice."""
        return Bills(
            parent=self.parent[chosen],
            component=self.component[chosen],
            packed=self.packed[chosen],
            overage=self.overage[chosen],
        )


def low_level_codes(items: int, bills: Bills, names: Sequence[str] = ()) -> IntArray:
    """Return the low-level code of each item: 0 for what no bill takes.

    Raises
    ------
    ValueError: bills that go round in a circle; the items in it are named.

    >>> bills = Bills(
    ...     parent=np.array([0, 0, 1]), component=np.array([1, 2, 2]),
    ...     packed=np.array([1, 3, 2]), overage=np.zeros(3),
    ... )
    >>> low_level_codes(3, bills).tolist()
    [0, 1, 2]
    """
    codes = np.zeros(items, dtype=np.int64)
    for _ in range(items + 1):
        lower = codes.copy()
        np.maximum.at(lower, bills.component, codes[bills.parent] + 1)
        if (lower == codes).all():
            return codes
        codes = lower
    circle = np.flatnonzero(_going_round(bills, codes >= items)).tolist()
    told = ", ".join(names[place] if names else str(place) for place in circle)
    msg = f"bills go round in a circle: {told}"
    raise ValueError(msg)


def _going_round(bills: Bills, below: BoolArray) -> BoolArray:
    """Return the items of circles, out of all that stand in a circle or below one."""
    while True:
        takes = np.zeros_like(below)
        takes[bills.parent[below[bills.parent] & below[bills.component]]] = True
        if (takes == below).all():
            return below
        below = takes


def exploded(releases: IntArray, bills: Bills, *, items: int) -> IntArray:
    """Return what releases take of every item, [items, buckets] in whole units of stock.

    Parameters
    ----------
    releases: [parents, buckets] pieces begun in each bucket.
    bills: rows whose parents are places in ``releases``.

    Raises
    ------
    ValueError: more than can be counted exactly.

    >>> bills = Bills(
    ...     parent=np.array([0]), component=np.array([1]), packed=np.array([20_100]),
    ...     overage=np.array([0.02]),
    ... )
    >>> exploded(np.array([[30, 0, 1]]), bills, items=2).tolist()
    [[0, 0, 0], [615060, 0, 20502]]
    """
    buckets = releases.shape[1]
    taken = np.zeros((items, buckets))
    if (np.diff(bills.component) < 0).any():
        bills = bills.at(np.argsort(bills.component, kind="stable"))
    count = len(bills.component)
    pieces = releases.astype(np.float64)
    space = np.empty((2, min(_ROWS_AT_ONCE, count), buckets))
    for start in range(0, count, _ROWS_AT_ONCE):
        rows = bills.at(slice(start, start + _ROWS_AT_ONCE))
        needed = _needed_by_row(pieces, rows, space[:, : len(rows.parent)])
        begins = np.flatnonzero(np.diff(rows.component, prepend=-1))
        taken[rows.component[begins]] += np.add.reduceat(needed, begins, axis=0)
    if taken.size and taken.max() >= _EXACT:
        msg = "the bills take more than can be counted exactly: look for an amount in a wrong unit"
        raise ValueError(msg)
    return taken.astype(np.int64)


def _needed_by_row(pieces: FloatArray, bills: Bills, space: FloatArray) -> FloatArray:
    """Return what each row of bills takes, [rows, buckets], each rounded up by itself.

    ``space`` is two such arrays to work in: making new ones takes longer than the arithmetic.
    """
    needed: FloatArray = space[0]
    extra = space[1]
    np.take(pieces, bills.parent, axis=0, out=needed, mode="clip")
    needed *= bills.packed[:, None]
    if bills.overage.any():
        np.multiply(needed, bills.overage[:, None], out=extra)
        extra -= _ROUNDING_NOISE
        needed += np.ceil(extra, out=extra)
    return needed
