"""What can serve a demand: lots on hand and scheduled receipts, in the order they are used up."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, kw_only=True, eq=False)
class Supplies:
    """Lots and scheduled receipts: arrays of one length, of each item in the order of use.

    Attributes
    ----------
    item: its place among the items.
    quantity: whole units of stock.
    first, last: the buckets it can serve, both included; a last bucket beyond the plan keeps.
    alpha: of a hop, a share on bucket 0, falling by the exponential rate ``decay`` each bucket;
        None: nothing here is wanted by alpha acid.
    """

    item: IntArray
    quantity: IntArray
    first: IntArray
    last: IntArray
    alpha: FloatArray | None = None
    decay: FloatArray | None = None


def first_expired_first(
    item: IntArray, last: IntArray, first: IntArray, *, receipt: BoolArray
) -> IntArray:
    """Return the order of use: by item, last bucket, lots before receipts, then first bucket."""
    return np.lexsort((first, receipt, last, item)).astype(np.int64)
