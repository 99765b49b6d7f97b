"""What a supplier asks for so many packs of an offer."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence

from inventory.models import PriceBreak


def offered_prices(asked: Iterable[tuple[int, int]]) -> dict[tuple[int, int], int | None]:
    """Return the price of a pack by offer and packs, in ten-thousandths; one statement.

    None where the offer has no price for so few.
    """
    pairs = set(asked)
    breaks: dict[int, list[tuple[int, int]]] = defaultdict(list)
    rows = PriceBreak.objects.filter(offer__in={offer for offer, _ in pairs})
    for offer, start, price in rows.values_list("offer_id", "from_packs", "pack_price"):
        breaks[offer].append((start, price))
    return {(offer, packs): price_of_packs(breaks[offer], packs) for offer, packs in pairs}


def price_of_packs(breaks: Sequence[tuple[int, int]], packs: int) -> int | None:
    """Return the price of the highest break that so many packs reach.

    >>> price_of_packs([(1, 400_000), (10, 360_000)], 12)
    360000
    """
    reached = [step for step in breaks if step[0] <= packs]
    return max(reached)[1] if reached else None
