"""Pegging: which supply serves which need, when both were taken in one order.

Needs stand in the order in which they were served, supplies in the order in which they were used;
both come to the same. Laid over each other they cut into pieces, each of one need and one supply.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Pegs:
    """Pieces, by the places of their need and supply; ``quantity`` is above zero."""

    need: IntArray
    supply: IntArray
    quantity: IntArray

    def __len__(self) -> int:
        return len(self.quantity)


def overlaid(needs: IntArray, supplies: IntArray) -> Pegs:
    """Return the pieces of needs and supplies, in whole units, in the order they were served.

    What one side has beyond the other belongs to no piece.

    Raises
    ------
    ValueError: an amount below zero.

    >>> pegs = overlaid(np.array([30, 0, 20]), np.array([10, 40]))
    >>> list(zip(pegs.need.tolist(), pegs.supply.tolist(), pegs.quantity.tolist()))
    [(0, 0, 10), (0, 1, 20), (2, 1, 20)]
    """
    if min(needs.min(initial=0), supplies.min(initial=0)) < 0:
        msg = "what is needed and what serves it cannot be less than zero"
        raise ValueError(msg)
    need_ends, supply_ends = np.cumsum(needs), np.cumsum(supplies)
    common = min(need_ends[-1], supply_ends[-1]) if len(needs) and len(supplies) else 0
    ends = np.union1d(need_ends, supply_ends)
    ends = ends[(ends > 0) & (ends <= common)]
    return Pegs(
        need=np.searchsorted(need_ends, ends).astype(np.int64),
        supply=np.searchsorted(supply_ends, ends).astype(np.int64),
        quantity=np.diff(ends, prepend=0).astype(np.int64),
    )
