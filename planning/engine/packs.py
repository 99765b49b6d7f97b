"""What a supplier sells an item in: whole packs, a minimum order, price breaks on all of it."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

MONEY = 10_000
"""Ten-thousandths in one unit of money."""


@dataclass(frozen=True, kw_only=True)
class Packs:
    """How a supplier sells an item.

    Attributes
    ----------
    pack_quantity: whole units of stock in a pack.
    minimum_packs: the fewest packs of one order.
    breaks: ``(from_packs, price of a pack in ten-thousandths)``; the price of the highest break
        reached is paid for every pack of the order.

    >>> malt = Packs(pack_quantity=5_000, breaks=((1, 100_000), (10, 80_000)))
    >>> malt.whole(36_000), malt.bought(8), malt.bought(8, most=9), malt.cost(10)
    (8, 8, 8, 800000)
    >>> malt.bought(9), malt.bought(9, most=9)
    (10, 9)
    """

    pack_quantity: int = 1
    minimum_packs: int = 1
    breaks: tuple[tuple[int, int], ...] = ((1, 0),)

    def __post_init__(self) -> None:
        if self.pack_quantity < 1 or not self.breaks:
            msg = "an offer needs a pack of at least one unit of stock and a price"
            raise ValueError(msg)

    @cached_property
    def fewest_packs(self) -> int:
        """The fewest packs that may be ordered and have a price."""
        return max(1, self.minimum_packs, min(packs for packs, _ in self.breaks))

    def cost(self, packs: int) -> int:
        """Return the price of an order in ten-thousandths."""
        return packs * max(step for step in self.breaks if step[0] <= packs)[1]

    def whole(self, quantity: int) -> int:
        """Return the packs that hold a quantity."""
        return -(-quantity // self.pack_quantity)

    def bought(self, packs: int, *, most: int | None = None) -> int:
        """Return the packs to order for so many that are wanted.

        More are bought only for the minimum, and up to ``most`` where a price break makes the
        whole order cheaper.
        """
        least = max(packs, self.fewest_packs)
        if len(self.breaks) == 1:
            return least
        steps = (step for step, _ in self.breaks if step > least and (most is None or step <= most))
        return min((least, *steps), key=lambda count: (self.cost(count), count))


def rounded_up(sold: Packs, quantity: int) -> Iterator[str]:
    """Yield that a quantity is filled up to whole packs, if it is."""
    if quantity % sold.pack_quantity:
        needed = quantity / sold.pack_quantity
        yield f"{needed:.2f} packs are needed, rounded up to {sold.whole(quantity)}."


def raised(sold: Packs, wanted: int, packs: int) -> Iterator[str]:
    """Yield why more packs are bought than are wanted."""
    least = max(wanted, sold.fewest_packs)
    if least > wanted:
        yield f"Raised from {wanted} to {least} packs, the supplier's minimum order."
    if packs > least:
        saved = (sold.cost(least) - sold.cost(packs)) / MONEY
        yield f"Raised from {least} to {packs} packs: the price break saves {saved:.2f} in all."
