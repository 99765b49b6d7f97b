"""A supplier with two offers, for tests of ordering and receiving."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from boxwort.accounts.models import User
from boxwort.quantities import MG_PER_KG
from inventory.models import Item, Place, Supplier, SupplierItem
from inventory.services.catalogue import write_offer, write_place, write_supplier
from planning.models import PurchaseOrder, Receipt
from planning.services.purchase_orders import DraftLine, draft_order, send_order
from planning.services.receipts import Arrived, receive_order
from tests.make import item, key
from tests.planning.make import planner

ON = date(2026, 3, 2)
DUE = ON + timedelta(days=7)
SACK = 25 * MG_PER_KG


@dataclass
class Market:
    """Malt in sacks of 25 kg at 40.00, sugar in sacks of 25 kg at 20.00, and a place for them."""

    supplier: Supplier
    malt: SupplierItem
    sugar: SupplierItem
    shelf: Place
    by: User

    def line(self, packs: int = 4, offer: SupplierItem | None = None, **facts: Any) -> DraftLine:
        known = {"due_on": DUE, "pack_price": 400_000} | facts
        return DraftLine(offer=offer or self.malt, packs=packs, **known)

    def draft(self, *lines: DraftLine) -> PurchaseOrder:
        return draft_order(by=self.by, supplier=self.supplier, on=ON, lines=lines or (self.line(),))

    def sent(self, *lines: DraftLine) -> PurchaseOrder:
        order = self.draft(*lines)
        send_order(by=self.by, order=order, expected=order.version, on=ON)
        return order

    def arrived(self, order: PurchaseOrder, quantity: int, at: int = 0, **facts: Any) -> Arrived:
        line = order.lines.order_by("pk")[at]
        return Arrived(line_id=line.pk, quantity=quantity, place=self.shelf, **facts)

    def received(self, order: PurchaseOrder, *arrived: Arrived, **facts: Any) -> Receipt:
        known = {"received_on": ON, "key": key(), "expected": order.version} | facts
        return receive_order(by=self.by, order=order, arrived=arrived, **known)


def market() -> Market:
    by = planner()
    supplier = write_supplier(by=by, code="MALTCO", name="Malt Company", lead_days=7)
    return Market(
        supplier=supplier,
        malt=_sacks(by, supplier, item("PALE"), 400_000),
        sugar=_sacks(by, supplier, item("SUGAR"), 200_000),
        shelf=write_place(by=by, code="DRY", name="Dry store", temperature_c=15.0, from_on=ON),
        by=by,
    )


def _sacks(by: User, supplier: Supplier, of: Item, price: int) -> SupplierItem:
    return write_offer(by=by, supplier=supplier, item=of, pack_quantity=SACK, breaks=[(1, price)])
