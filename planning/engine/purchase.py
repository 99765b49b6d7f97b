"""From a net requirement to whole packs of a supplier: how many, at what cost, by when."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta

MONEY = 10_000
"""Ten-thousandths in one unit of money."""


@dataclass(frozen=True, kw_only=True)
class PackOffer:
    """How a supplier sells an item.

    Attributes
    ----------
    pack_quantity: whole units of stock in a pack.
    minimum_packs: the fewest packs of one order.
    breaks: ``(from_packs, price of a pack in ten-thousandths)``; the price of the highest break
        reached is paid for every pack of the order.
    lead_days: whole days from order to receipt.
    """

    pack_quantity: int
    minimum_packs: int
    breaks: tuple[tuple[int, int], ...]
    lead_days: int

    def __post_init__(self) -> None:
        if self.pack_quantity < 1 or not self.breaks:
            msg = "an offer needs a pack of at least one unit of stock and a price"
            raise ValueError(msg)

    @property
    def fewest_packs(self) -> int:
        """The fewest packs that may be ordered and have a price."""
        return max(1, self.minimum_packs, min(packs for packs, _ in self.breaks))

    def cost(self, packs: int) -> int:
        """Return the price of an order in ten-thousandths."""
        return packs * max(step for step in self.breaks if step[0] <= packs)[1]


@dataclass(frozen=True, kw_only=True)
class PackOrder:
    """An order in packs; ``past_due`` when it should have gone before today.

    ``reasons`` says in plain words why it is more than the net requirement, or late.
    """

    packs: int
    quantity: int
    cost_ten_thousandths: int
    need_by: date
    order_by: date
    past_due: bool
    reasons: tuple[str, ...]


def pack_order(*, net: int, offer: PackOffer, need_by: date, today: date) -> PackOrder:
    """Return the cheapest order that covers a net requirement in packs.

    More packs than needed are bought only where a price break makes the whole order cheaper.

    >>> offer = PackOffer(
    ...     pack_quantity=5_000, minimum_packs=1, breaks=((1, 100_000), (10, 80_000)), lead_days=7
    ... )
    >>> order = pack_order(
    ...     net=42_000, offer=offer, need_by=date(2025, 5, 20), today=date(2025, 5, 1)
    ... )
    >>> order.packs, order.cost_ten_thousandths, order.order_by.isoformat()
    (10, 800000, '2025-05-13')
    """
    if net < 1:
        msg = f"a net requirement of {net} needs no order"
        raise ValueError(msg)
    whole = -(-net // offer.pack_quantity)
    least = max(whole, offer.fewest_packs)
    packs = min(
        (least, *(step for step, _ in offer.breaks if step > least)),
        key=lambda count: (offer.cost(count), count),
    )
    order_by = need_by - timedelta(days=offer.lead_days)
    return PackOrder(
        packs=packs,
        quantity=packs * offer.pack_quantity,
        cost_ten_thousandths=offer.cost(packs),
        need_by=need_by,
        order_by=order_by,
        past_due=order_by < today,
        reasons=(
            *_more_than_needed(net, whole, least, packs, offer),
            *_late(order_by, today, offer.lead_days),
        ),
    )


def _more_than_needed(
    net: int, whole: int, least: int, packs: int, offer: PackOffer
) -> Iterator[str]:
    if net % offer.pack_quantity:
        yield f"{net / offer.pack_quantity:.2f} packs are needed, rounded up to {whole}."
    if least > whole:
        yield f"Raised from {whole} to {least} packs, the supplier's minimum order."
    if packs > least:
        saved = (offer.cost(least) - offer.cost(packs)) / MONEY
        yield f"Raised from {least} to {packs} packs: the price break saves {saved:.2f} in all."


def _late(order_by: date, today: date, lead_days: int) -> Iterator[str]:
    if order_by < today:
        arrives = today + timedelta(days=lead_days)
        yield (
            f"Past due: it should have been ordered by {order_by.day} {order_by:%b %Y}; "
            f"ordered today it arrives on {arrives.day} {arrives:%b %Y}."
        )
