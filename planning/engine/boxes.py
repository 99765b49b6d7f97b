"""Boxes of an order line, filled at dispatch: which lots each takes, and which are alike; pure.

A box takes everything of one kind from one lot, so that it can be said what is in it: what is left
of a lot and does not fill a box stays. Boxes are filled in a row, the lots of each kind in their
order; boxes next to each other with the same lots are alike.

>>> kits = filled(5, [(1, 3), (2, 9)])
>>> yeast = filled(5, [(7, 4), (8, 2)])
>>> [(row.boxes, dict(row.lots)) for row in alike({"kit": kits, "yeast": yeast})]
[(3, {'kit': 1, 'yeast': 7}), (1, {'kit': 2, 'yeast': 7}), (1, {'kit': 2, 'yeast': 8})]
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, kw_only=True)
class Share:
    """So many boxes that take something from one lot."""

    lot: int
    boxes: int


@dataclass(frozen=True, kw_only=True)
class Alike:
    """So many boxes with the same lots, by what each lot is for."""

    boxes: int
    lots: Mapping[str, int]


def filled(wanted: int, lots: Iterable[tuple[int, int]]) -> tuple[Share, ...]:
    """Return how many of the wanted boxes each lot fills, in the order given.

    Parameters
    ----------
    wanted: boxes.
    lots: each lot with the whole boxes that it can fill.

    Fewer are filled than wanted where the lots do not reach.
    """
    shares, left = [], wanted
    for lot, holds in lots:
        boxes = min(holds, left)
        if boxes > 0:
            shares.append(Share(lot=lot, boxes=boxes))
            left -= boxes
    return tuple(shares)


def boxes_in(shares: Iterable[Share]) -> int:
    """Return how many boxes are filled."""
    return sum(share.boxes for share in shares)


def cut_to(boxes: int, shares: Iterable[Share]) -> tuple[Share, ...]:
    """Return the first boxes of those filled; the last lots give fewer.

    >>> cut_to(4, filled(5, [(1, 3), (2, 9)]))
    (Share(lot=1, boxes=3), Share(lot=2, boxes=1))
    """
    return filled(boxes, [(share.lot, share.boxes) for share in shares])


def alike(kinds: Mapping[str, Sequence[Share]]) -> tuple[Alike, ...]:
    """Return the boxes that are alike, in a row; every kind must fill the same number of boxes.

    Raises
    ------
    ValueError: one kind fills more boxes than another.
    """
    counts = {kind: boxes_in(shares) for kind, shares in kinds.items()}
    if len(set(counts.values())) > 1:
        msg = f"not every kind fills the same boxes: {counts}"
        raise ValueError(msg)
    rows = {kind: [[share.lot, share.boxes] for share in shares] for kind, shares in kinds.items()}
    found = []
    while any(rows.values()):
        boxes = min(row[0][1] for row in rows.values())
        found.append(Alike(boxes=boxes, lots={kind: row[0][0] for kind, row in rows.items()}))
        for row in rows.values():
            row[0][1] -= boxes
            if not row[0][1]:
                row.pop(0)
    return tuple(found)
