"""From a net requirement to whole packs of a supplier: how many, at what cost, by when."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from planning.engine.calendar import Delivery, WorkingDays, order_days
from planning.engine.packs import Packs, raised, rounded_up


@dataclass(frozen=True, kw_only=True)
class PackOffer(Packs):
    """Packs, and the whole days from order to receipt."""

    lead_days: int


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
    whole = offer.whole(net)
    packs = offer.bought(whole)
    days = order_days(
        need_by,
        delivery=Delivery(lead_days=offer.lead_days),
        calendar=WorkingDays(),
        today=today,
    )
    return PackOrder(
        packs=packs,
        quantity=packs * offer.pack_quantity,
        cost_ten_thousandths=offer.cost(packs),
        need_by=need_by,
        order_by=days.order_by,
        past_due=days.past_due,
        reasons=(*rounded_up(offer, net), *raised(offer, whole, packs), *days.reasons),
    )
