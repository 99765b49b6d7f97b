"""Contracts with what was called off: how much is on orders, and how much is left to order."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

from django.db.models import Case, F, Q, Sum, When

from inventory.models import Contract
from planning.models import OrderState


@dataclass(frozen=True, kw_only=True)
class ContractRow:
    """A contract; quantities in whole units of stock, ``pack_price`` in ten-thousandths or None.

    ``called_off`` is on purchase orders that are not cancelled: what was ordered, or what came
    where the rest will not come.
    """

    id: int
    version: int
    code: str
    supplier_id: int
    supplier: str
    offer_id: int
    item_id: int
    item_code: str
    item_name: str
    measure: str
    pack_quantity: int
    crop_year: int | None
    quantity: int
    called_off: int
    pack_price: int | None
    from_on: date
    until_on: date

    @property
    def left(self) -> int:
        """What may still be called off."""
        return max(self.quantity - self.called_off, 0)

    def open_on(self, day: date) -> bool:
        """Return whether something of it may be called off on a day."""
        return self.from_on <= day <= self.until_on and self.left > 0


def contract_rows(*, supplier_id: int | None = None) -> list[ContractRow]:
    """Return all contracts, or those of a supplier, the ones that end last first; one statement."""
    contracts = Contract.objects.select_related("offer__item", "offer__supplier")
    if supplier_id is not None:
        contracts = contracts.filter(offer__supplier=supplier_id)
    ordered = Case(When(lines__ended=True, then=F("lines__received")), default=F("lines__quantity"))
    counted = ~Q(lines__order__state=OrderState.CANCELLED)
    called = contracts.annotate(called_off=Sum(ordered, filter=counted, default=0))
    return [_row(contract) for contract in called.order_by("-until_on", "code")]


def _row(contract: Any) -> ContractRow:
    """Return the row of a contract annotated with its sum (PostgreSQL sums to decimals)."""
    offer = contract.offer
    return ContractRow(
        id=contract.pk,
        version=contract.version,
        code=contract.code,
        supplier_id=offer.supplier_id,
        supplier=offer.supplier.code,
        offer_id=offer.pk,
        item_id=offer.item_id,
        item_code=offer.item.code,
        item_name=offer.item.name,
        measure=offer.item.measure,
        pack_quantity=offer.pack_quantity,
        crop_year=contract.crop_year,
        quantity=contract.quantity,
        called_off=int(contract.called_off),
        pack_price=contract.pack_price,
        from_on=contract.from_on,
        until_on=contract.until_on,
    )
