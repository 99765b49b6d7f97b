"""What items cost now: what the newest lot was landed for, or else what an offer asks."""

from __future__ import annotations

from inventory.models import Lot, PriceBreak

Cost = tuple[int, int]
"""Ten-thousandths for so many units of stock."""


def item_costs() -> dict[int, Cost]:
    """Return what each item costs now, by its id; two statements.

    An offer counts at its price for the fewest packs, the preferred offer before the others. A lot
    whose receipt was undone never was.
    """
    found: dict[int, Cost] = {}
    prices = PriceBreak.objects.filter(offer__supplier__active=True).order_by(
        "offer__item", "-offer__preferred", "offer__supplier__code", "offer", "from_packs"
    )
    for item, price, pack in prices.values_list(
        "offer__item", "pack_price", "offer__pack_quantity"
    ):
        found.setdefault(item, (price, pack))
    lots = Lot.objects.filter(cost_amount__gt=0, receiptline__receipt__undone_at=None)
    lots = lots.order_by("received_on", "pk")
    for item, amount, quantity in lots.values_list("item", "cost_amount", "cost_quantity"):
        found[item] = amount, quantity
    return found
