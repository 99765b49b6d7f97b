"""Which lots of one item serve a number of kits: as few as possible, then the oldest."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import accumulate


def fewest_oldest(held: Sequence[int], kits: int) -> tuple[int, ...]:
    """Return the positions of the fewest lots that hold the kits, the oldest such set.

    ``held`` is how many kits each lot holds, oldest first. The oldest single lot that holds them
    all is taken; else the oldest pair that does, and so on. Empty when all together do not.

    >>> fewest_oldest([5, 40, 60], 30)
    (1,)
    >>> fewest_oldest([5, 40, 60], 64)
    (0, 2)
    >>> fewest_oldest([5, 40, 60], 200)
    ()
    """
    largest = accumulate(sorted(held, reverse=True))
    count = next((size for size, total in enumerate(largest, start=1) if total >= kits), 0)
    chosen: list[int] = []
    left = kits
    for position, can in enumerate(held):
        others = count - len(chosen) - 1
        if others < 0:
            break
        later = sorted(held[position + 1 :], reverse=True)[:others]
        if can + sum(later) >= left:
            chosen.append(position)
            left -= can
    return tuple(chosen)
