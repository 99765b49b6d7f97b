"""What kits take from stock with their overage, and how many kits an amount holds."""

from __future__ import annotations

from collections.abc import Sequence

from recipes.brewing.bill import overage_amount


def quantity_needed(kits: int, per_kit: int, overage: float = 0.0) -> int:
    """Return whole units of stock for these kits and the overage share, rounded up once.

    >>> quantity_needed(30, 20_100, 0.02)
    615060
    """
    packed = kits * per_kit
    return packed + overage_amount(packed, overage, 1)


def kits_held(available: int, per_kits: Sequence[int], overage: float = 0.0) -> int | None:
    """Return how many kits an amount holds, each line's need rounded up; None: any number.

    >>> kits_held(100_000, [20_000, 4_900])
    4
    """
    each = sum(per_kits)
    if not each:
        return None
    kits = max(available, 0) // each
    kits = min(kits, int(kits / (1 + overage)) + 1)
    while kits and sum(quantity_needed(kits, mg, overage) for mg in per_kits) > available:
        kits -= 1
    return kits
