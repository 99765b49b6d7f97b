"""Lining up the change points of the varieties of one run line.

A batch is a stretch without a change of hop or yeast lot. With s lots of a variety there are s
stretches of it, so the batches of a line are at least the largest s, and at most
1 + the sum of (s - 1), which is what they are when no two varieties change at the same kit.

Where lots have a little more than they were given, a change may move, and two can meet. The kits
after which lots may change are the ends of a lot that is used to its last kit, counted from the
first kit and from the last, and where the changes lie now; all kits are tried where there are few.
The fewest changes are tried first.

>>> gold = [Share(lot=1, kits=30, most=30), Share(lot=2, kits=10, most=25)]
>>> perle = [Share(lot=3, kits=25, most=28), Share(lot=4, kits=15, most=40)]
>>> batches_between([gold, perle])
(2, 3)
>>> lined_up([gold, perle], least=6)
((28, (1, 3)), (12, (2, 4)))
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import accumulate, combinations, islice, pairwise, permutations
from math import comb

_TRIED = 3_000
"""Sets of change points that are tried for one line."""

_ORDERS = 24
"""Orders of the lots of one variety that are tried: all of up to four."""


@dataclass(frozen=True, kw_only=True)
class Share:
    """What a variety's lot gives a line: kits, and the most it could give."""

    lot: int
    kits: int
    most: int


Varieties = Sequence[Sequence[Share]]
Pieces = tuple[tuple[int, tuple[int, ...]], ...]
"""Kits in a row with the lot of each variety."""


def batches_between(varieties: Varieties) -> tuple[int, int]:
    """Return the fewest and the most batches that these lots can make."""
    return (
        max((len(shares) for shares in varieties), default=1),
        1 + sum(len(shares) - 1 for shares in varieties),
    )


def lined_up(varieties: Varieties, *, least: int) -> Pieces | None:
    """Return the fewest batches found, none of fewer kits than ``least``; None: no way was found.

    The lots of each variety come in the order in which they expire. Where the batches are as few
    either way they are packed in that order, and the first batches are the longest that can be.
    Every lot is used.
    """
    if not varieties:
        return None
    kits = sum(share.kits for share in varieties[0])
    fewest, most = batches_between(varieties)
    points = _points(varieties, kits)
    for changes in range(fewest - 1, most):
        where = points if comb(kits - 1, changes) > _TRIED else range(1, kits)
        cuts = [
            pieces
            for chosen in islice(combinations(sorted(where, reverse=True), changes), _TRIED)
            if min(pieces := _pieces(chosen, kits)) >= least
        ]
        for orders in (1, _ORDERS):
            for pieces in cuts:
                if lots := _assigned(varieties, pieces, orders):
                    return tuple(zip(pieces, lots, strict=True))
    return None


def _pieces(changes: Sequence[int], kits: int) -> list[int]:
    return [end - begin for begin, end in pairwise((0, *reversed(changes), kits))]


def _points(varieties: Varieties, kits: int) -> list[int]:
    """Return the kits after which a change is worth trying, in order."""
    points: set[int] = set()
    for shares in varieties:
        for order in islice(permutations(shares), _ORDERS):
            points.update(accumulate(share.most for share in order[:-1]))
            points.update(kits - kept for kept in accumulate(share.most for share in order[:-1]))
            points.update(accumulate(share.kits for share in order[:-1]))
    return sorted(point for point in points if 0 < point < kits)


def _assigned(
    varieties: Varieties, pieces: Sequence[int], orders: int
) -> list[tuple[int, ...]] | None:
    """Return the lot of each variety for each piece, or None where a variety does not fit."""
    columns = [_fitted(shares, pieces, orders) for shares in varieties]
    if any(column is None for column in columns):
        return None
    return list(zip(*(column for column in columns if column), strict=True))


def _fitted(shares: Sequence[Share], pieces: Sequence[int], orders: int) -> list[int] | None:
    """Return the lot of each piece, lots one after another, each used and none for too much."""
    fitting = (
        lots for order in islice(permutations(shares), orders) for lots in _divided(order, pieces)
    )
    return next(fitting, None)


def _divided(order: Sequence[Share], pieces: Sequence[int]) -> Iterable[list[int]]:
    """Yield how the pieces in a row can be dealt to the lots in this order."""
    for ends in combinations(range(1, len(pieces)), len(order) - 1):
        bounds = list(pairwise((0, *ends, len(pieces))))
        if all(
            sum(pieces[begin:end]) <= share.most
            for share, (begin, end) in zip(order, bounds, strict=True)
        ):
            yield [
                share.lot
                for share, (begin, end) in zip(order, bounds, strict=True)
                for _ in range(begin, end)
            ]
