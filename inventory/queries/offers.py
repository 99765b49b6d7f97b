"""What suppliers sell, for those who decide where to buy."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import SupplierItem


@dataclass(frozen=True, kw_only=True)
class OfferRow:
    """An item as one supplier sells it in one pack size.

    ``pack_quantity`` is in whole units of the item's measure; ``lead_days`` is the offer's own or
    else the supplier's; ``breaks`` are (from so many packs, price of a pack in ten-thousandths).
    """

    offer_id: int
    version: int
    item_id: int
    supplier_id: int
    supplier_code: str
    supplier_name: str
    supplier_email: str
    supplier_item_code: str
    pack_quantity: int
    minimum_packs: int
    lead_days: int
    breaks: tuple[tuple[int, int], ...]
    preferred: bool


def offers_for(item_ids: Iterable[int]) -> dict[int, list[OfferRow]]:
    """Return what active suppliers offer of each item, the preferred one first; two statements."""
    offers = (
        SupplierItem.objects.filter(item__in=list(item_ids), supplier__active=True)
        .select_related("supplier")
        .prefetch_related("breaks")
        .order_by("item", "-preferred", "supplier__code", "pack_quantity")
    )
    found: dict[int, list[OfferRow]] = defaultdict(list)
    for offer in offers:
        found[offer.item_id].append(_row(offer))
    return dict(found)


def _row(offer: SupplierItem) -> OfferRow:
    lead_days = offer.supplier.lead_days if offer.lead_days is None else offer.lead_days
    return OfferRow(
        offer_id=offer.pk,
        version=offer.version,
        item_id=offer.item_id,
        supplier_id=offer.supplier_id,
        supplier_code=offer.supplier.code,
        supplier_name=offer.supplier.name,
        supplier_email=offer.supplier.email,
        supplier_item_code=offer.supplier_code,
        pack_quantity=offer.pack_quantity,
        minimum_packs=offer.minimum_packs,
        lead_days=lead_days,
        breaks=tuple((row.from_packs, row.pack_price) for row in offer.breaks.all()),
        preferred=offer.preferred,
    )
