"""Suppliers and what they sell, over the API."""

from __future__ import annotations

from typing import Any

from inventory.models import SupplierItem
from inventory.services.catalogue import write_offer, write_supplier
from tests import make
from tests.calling import Program, pointers


def offer(code: str = "MALTERS", pack: int = 25_000_000, **facts: Any) -> SupplierItem:
    supplier = write_supplier(by=make.user(), code=code, name=code.title(), order_weekdays="14")
    sold = {"supplier": supplier, "item": make.item(), "pack_quantity": pack}
    return write_offer(by=make.user(), **sold, **facts)


def test_suppliers_are_listed_with_their_days(owner: Program) -> None:
    offer()
    (row,) = owner.read("api-supplier-list")["results"]
    assert (row["code"], row["order_weekdays"], row["offers"]) == ("MALTERS", "14", 1)


def test_offers_are_listed_with_packs_and_prices_of_one_supplier_or_all(owner: Program) -> None:
    sold = offer(breaks=[(1, 380_000), (10, 365_000)])
    offer("OTHERS")
    assert len(owner.read("api-offer-list")["results"]) == 2
    (row,) = owner.read("api-offer-list", supplier_id=sold.supplier_id)["results"]
    assert row["pack_quantity"]["text"] == "25.000 kg"
    assert (row["lead_days"], row["preferred"]) == (None, False)
    assert row["breaks"][1] == {
        "from_packs": 10,
        "pack_price": {"amount": "36.50", "currency": "USD"},
    }
    assert pointers(owner.get("api-offer-list", supplier_id=0)) == {"#/supplier_id"}


def test_an_item_says_how_it_is_ordered(owner: Program) -> None:
    row = owner.read("api-item-detail", offer().item_id)
    assert (row["lot_rule"], row["fixed_quantity"], row["quarantine_days"]) == ("period", None, 0)
    assert row["order_cost"] == {"amount": "0.00", "currency": "USD"}
