"""Which supply serves which need: both in their order, within a key that both share.

What no supply is left for is pegged to -1, and what no need takes is pegged from -1, so that the
pegs of a key make up its needs and its supplies both.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from planning.engine.pegging import IntArray, Pegs, overlaid
from planning.engine.plan_input import FloatArray

NONE = -1


def served_in_order(
    need_key: IntArray, needs: IntArray, supply_key: IntArray, supplied: IntArray
) -> Pegs:
    """Return the pegs of needs to supplies of the same key, each side in the order given.

    Parameters
    ----------
    need_key, supply_key: whole numbers from 0; ``needs`` and ``supplied`` are their quantities.

    >>> pegs = served_in_order(
    ...     np.array([0, 0, 1]), np.array([5, 5, 4]), np.array([0, 1]), np.array([7, 9])
    ... )
    >>> list(zip(pegs.need.tolist(), pegs.supply.tolist(), pegs.quantity.tolist()))
    [(0, 0, 5), (1, 0, 2), (1, -1, 3), (2, 1, 4), (-1, 1, 5)]
    """
    keys = int(max(need_key.max(initial=NONE), supply_key.max(initial=NONE))) + 1
    short = _sums(need_key, needs, keys) - _sums(supply_key, supplied, keys)
    need_at, need_quantity = _filled(need_key, needs, np.maximum(-short, 0))
    supply_at, supply_quantity = _filled(supply_key, supplied, np.maximum(short, 0))
    pegs = overlaid(need_quantity, supply_quantity)
    return Pegs(need=need_at[pegs.need], supply=supply_at[pegs.supply], quantity=pegs.quantity)


def some_of(pegs: Pegs, chosen: IntArray | NDArray[np.bool_]) -> Pegs:
    """Return some of the pegs, by place or by mask."""
    return Pegs(need=pegs.need[chosen], supply=pegs.supply[chosen], quantity=pegs.quantity[chosen])


def renamed(places: IntArray, named: IntArray) -> IntArray:
    """Return what places stand for; none stays none."""
    found = np.full(len(places), NONE, dtype=np.int64)
    there = places >= 0
    found[there] = named[places[there]]
    return found


def _sums(key: IntArray, quantity: IntArray, keys: int) -> IntArray:
    sums = np.zeros(keys, dtype=np.int64)
    np.add.at(sums, key, quantity)
    return sums


def _filled(key: IntArray, quantity: IntArray, missing: IntArray) -> tuple[IntArray, IntArray]:
    """Return places and quantities by key, what is missing of each key at its end as no place."""
    lacking = np.flatnonzero(missing)
    order = np.argsort(np.concatenate((key, lacking)), kind="stable")
    places = np.concatenate((np.arange(len(key)), np.full(len(lacking), NONE)))
    return places[order], np.concatenate((quantity, missing[lacking]))[order]


def in_whole(cell: IntArray, parts: FloatArray, whole: FloatArray) -> IntArray:
    """Return parts as whole numbers that make up the whole of their cell; rows are by cell."""
    if not len(cell):
        return np.zeros(0, dtype=np.int64)
    starts = np.searchsorted(cell, cell)
    ends = np.searchsorted(cell, cell, side="right") - 1
    total = np.cumsum(parts)
    before = total[starts] - parts[starts]
    upto = np.rint((total - before) / (total[ends] - before) * whole).astype(np.int64)
    first = np.arange(len(cell)) == starts
    found: IntArray = upto - np.where(first, 0, np.concatenate(([0], upto[:-1])))
    return found
