"""Suppliers as people read them: when they take orders, how long they take, and what they sell."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple

from django.db.models import Count, QuerySet

from inventory.models import Supplier, SupplierItem


@dataclass(frozen=True, kw_only=True)
class SupplierRow:
    """A supplier; ``order_weekdays`` as of :mod:`boxwort.weekdays`, ``offers`` is how many.

    ``lead_days`` are calendar days, or working days of the house where it ``counts_working_days``.
    """

    id: int
    version: int
    code: str
    name: str
    email: str
    lead_days: int
    order_weekdays: str
    counts_working_days: bool
    active: bool
    offers: int


class BreakRow(NamedTuple):
    """The price of a pack in ten-thousandths, from so many packs on."""

    from_packs: int
    pack_price: int


@dataclass(frozen=True, kw_only=True)
class SoldRow:
    """One offer of a supplier: the item, the pack in whole units of stock, times and prices.

    ``own_lead_days`` is None where the supplier's count.
    """

    id: int
    version: int
    supplier: str
    item_id: int
    item_code: str
    item_name: str
    item_kind: str
    measure: str
    supplier_item_code: str
    pack_quantity: int
    minimum_packs: int
    own_lead_days: int | None
    preferred: bool
    breaks: tuple[BreakRow, ...]


def supplier_rows(*, active_only: bool = False) -> list[SupplierRow]:
    """Return the suppliers by code; one statement."""
    found = _suppliers()
    if active_only:
        found = found.filter(active=True)
    return [_row(supplier) for supplier in found]


def supplier_row(supplier_id: int) -> SupplierRow | None:
    """Return one supplier, or None where there is none with this number."""
    found = _suppliers().filter(pk=supplier_id).first()
    return _row(found) if found else None


def sold_rows(*, supplier_id: int | None = None) -> list[SoldRow]:
    """Return all offers, or those of one supplier, by item and pack; two statements."""
    offers = SupplierItem.objects.select_related("item", "supplier").prefetch_related("breaks")
    if supplier_id is not None:
        offers = offers.filter(supplier=supplier_id)
    ordered = offers.order_by("supplier__code", "item__code", "pack_quantity")
    return [_sold(offer) for offer in ordered]


def _suppliers() -> QuerySet[Supplier]:
    return Supplier.objects.annotate(offer_count=Count("offers")).order_by("code")


def _row(supplier: Any) -> SupplierRow:
    return SupplierRow(
        id=supplier.pk,
        version=supplier.version,
        code=supplier.code,
        name=supplier.name,
        email=supplier.email,
        lead_days=supplier.lead_days,
        order_weekdays=supplier.order_weekdays,
        counts_working_days=supplier.counts_working_days,
        active=supplier.active,
        offers=supplier.offer_count,
    )


def _sold(offer: SupplierItem) -> SoldRow:
    item = offer.item
    return SoldRow(
        id=offer.pk,
        version=offer.version,
        supplier=offer.supplier.code,
        item_id=item.pk,
        item_code=item.code,
        item_name=item.name,
        item_kind=item.kind,
        measure=item.measure,
        supplier_item_code=offer.supplier_code,
        pack_quantity=offer.pack_quantity,
        minimum_packs=offer.minimum_packs,
        own_lead_days=offer.lead_days,
        preferred=offer.preferred,
        breaks=tuple(BreakRow(row.from_packs, row.pack_price) for row in offer.breaks.all()),
    )
