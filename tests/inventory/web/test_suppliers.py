"""Suppliers, offers, contracts, crops and lot rules are written on pages."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from django.test import Client

from boxwort.roles import Role
from inventory.models import Contract, CropYear, Item, ItemKind, LotRule, Supplier, SupplierItem
from inventory.services.catalogue import write_offer, write_supplier
from tests import make
from tests.inventory.web.conftest import Enter
from tests.visits import read, send, statements, words_of


@pytest.fixture
def offer(db: None) -> SupplierItem:
    hop = make.item("CASCADE", ItemKind.HOP)
    supplier = write_supplier(by=make.user(), code="HOPYARD", name="The hop yard")
    return write_offer(by=make.user(), supplier=supplier, item=hop, pack_quantity=5_000_000)


def ordering(item: Item, **typed: Any) -> dict[str, Any]:
    return {
        "version": item.version,
        "safety_stock": "25 kg",
        "lot_rule": "fixed",
        "fixed_quantity": "500",
        "order_cost": "25",
        "quarantine_days": "3",
        **typed,
    }


def test_a_planner_comes_from_no_supplier_to_an_offer_with_its_prices(enter: Enter) -> None:
    planner = enter(Role.PLANNER)
    make.item("PALE")
    assert "There are no suppliers yet" in read(planner, "supplier-list")
    typed = {"code": "malters", "name": "Malters", "lead_days": "5", "counts_working_days": "on"}
    days = {"order_weekdays": ["1", "3"]}
    assert send(planner, "supplier-new", **typed, **days).status_code == 303
    made = Supplier.objects.get()
    assert (made.code, made.order_weekdays, made.active) == ("MALTERS", "13", True)
    sold = {"item": Item.objects.get().pk, "pack": "25 kg", "minimum_packs": "4"}
    prices = {"price": "38", "cheaper": "10 36.50\r\n40: 35"}
    assert send(planner, "offer-new", made.pk, **sold, **prices).status_code == 303
    text = read(planner, "supplier-detail", made.pk)
    for words in ("Tue Thu", "5 working days", "25.000 kg", "36.50 USD from 10 packs", "4 packs"):
        assert words in text
    kept = SupplierItem.objects.get()
    assert list(kept.breaks.values_list("from_packs", "pack_price")) == [
        (1, 380_000),
        (10, 365_000),
        (40, 350_000),
    ]


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"order_weekdays": []}, "Tick at least one weekday"),
        ({"code": "no spaces"}, "cannot be the code"),
        ({"code": "HOPYARD"}, "already"),
        ({"lead_days": "1000"}, "less than or equal to 730"),
        ({"email": "nobody"}, "valid email"),
    ],
)
def test_a_supplier_who_cannot_be_is_refused(
    owner: Client, offer: SupplierItem, typed: dict[str, Any], words: str
) -> None:
    good = {"code": "NEW", "name": "New", "lead_days": "5", "order_weekdays": ["0"]}
    answer = send(owner, "supplier-new", **good | typed)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert Supplier.objects.count() == 1


def test_a_supplier_is_changed_by_one_person_at_a_time(owner: Client, offer: SupplierItem) -> None:
    supplier = offer.supplier
    assert 'value="0"' in read(owner, "supplier-change", supplier.pk)
    typed = {"version": "1", "name": "Yard", "lead_days": "9", "order_weekdays": ["0", "4"]}
    assert send(owner, "supplier-change", supplier.pk, **typed).status_code == 303
    supplier.refresh_from_db()
    assert (supplier.name, supplier.order_weekdays, supplier.active) == ("Yard", "04", False)
    assert "Not in use" in read(owner, "supplier-list")
    late = send(owner, "supplier-change", supplier.pk, **typed | {"name": "Other"})
    assert late.status_code == 409


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"pack": "5 kg"}, "in this pack already"),
        ({"pack": "12 each"}, "kept by mass"),
        ({"pack": ""}, "required"),
        ({"cheaper": "10 for 38"}, "is not read"),
        ({"cheaper": "1 38"}, "2 or more"),
        ({"cheaper": "10 38\n10 37"}, "from its own number of packs"),
        ({"minimum_packs": "0"}, "greater than or equal to 1"),
    ],
)
def test_an_offer_that_cannot_be_is_refused(
    owner: Client, offer: SupplierItem, typed: dict[str, str], words: str
) -> None:
    good = {"item": offer.item_id, "pack": "1 kg", "price": "30", "minimum_packs": "1"}
    answer = send(owner, "offer-new", offer.supplier_id, **good | typed)
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert SupplierItem.objects.count() == 1


def test_an_offer_is_changed_and_its_pack_stays(owner: Client, offer: SupplierItem) -> None:
    read(owner, "offer-change", offer.pk)
    typed = {"version": offer.version, "price": "90", "minimum_packs": "2", "preferred": "on"}
    assert send(owner, "offer-change", offer.pk, **typed).status_code == 303
    offer.refresh_from_db()
    assert (offer.minimum_packs, offer.preferred, offer.pack_quantity) == (2, True, 5_000_000)
    assert 'value="90"' in read(owner, "offer-change", offer.pk)


def test_a_contract_is_written_and_changed(owner: Client, offer: SupplierItem) -> None:
    typed = {"code": "c-26", "quantity": "40 kg", "crop_year": "2026"}
    days = {"from_on": "2026-03-01", "until_on": "2026-09-30"}
    assert send(owner, "contract-new", offer.pk, **typed, **days).status_code == 303
    made = Contract.objects.get()
    assert (made.code, made.quantity, made.pack_price) == ("C-26", 40_000_000, None)
    assert "40 kg" in read(owner, "contract-change", made.pk)
    change = {"version": "1", "quantity": "50 kg", "pack_price": "80", "crop_year": "2026"}
    assert send(owner, "contract-change", made.pk, **change, **days).status_code == 303
    wrong = send(owner, "contract-change", made.pk, **change | days | {"until_on": "2026-02-01"})
    assert (wrong.status_code, "end before it begins" in words_of(wrong)) == (422, True)


def test_a_hop_is_planned_by_its_crops(owner: Client, offer: SupplierItem) -> None:
    hop = offer.item_id
    assert "planned by 8.0 %" in read(owner, "item-detail", hop)
    typed = {"year": "2026", "from_on": "2026-09-15", "planning_alpha": "6.5"}
    assert send(owner, "crop-new", hop, **typed).status_code == 303
    crop = CropYear.objects.get()
    assert (crop.planning_alpha, crop.from_on) == (0.065, date(2026, 9, 15))
    assert "6.5 %" in read(owner, "item-detail", hop)
    assert send(owner, "crop-remove", crop.pk).status_code == 303
    assert not CropYear.objects.exists()


def test_how_an_item_is_ordered_is_written_with_any_unit(owner: Client) -> None:
    item = make.item("PALE")
    read(owner, "item-ordering", item.pk)
    assert send(owner, "item-ordering", item.pk, **ordering(item)).status_code == 303
    item.refresh_from_db()
    assert (item.lot_rule, item.fixed_quantity) == (LotRule.FIXED, 500_000_000)
    assert (item.safety_stock, item.order_cost) == (25_000_000, 250_000)
    text = read(owner, "item-detail", item.pk)
    assert "A fixed quantity: 500.000 kg" in text
    assert 'value="25 kg"' in read(owner, "item-ordering", item.pk)


@pytest.mark.parametrize(
    ("typed", "words"),
    [
        ({"fixed_quantity": ""}, "it is not said how much"),
        ({"period_days": "0"}, "No order covers such a period"),
        ({"safety_stock": "3 L"}, "does not measure"),
        ({"order_cost": "-1"}, "greater than or equal to 0"),
    ],
)
def test_what_cannot_be_ordered_by_stands_at_its_box(
    owner: Client, typed: dict[str, str], words: str
) -> None:
    item = make.item("PALE")
    answer = send(owner, "item-ordering", item.pk, **ordering(item, **typed))
    assert answer.status_code == 422
    assert words in words_of(answer)
    assert Item.objects.get().lot_rule == LotRule.PERIOD


def test_packers_read_suppliers_and_change_nothing(enter: Enter, offer: SupplierItem) -> None:
    packer = enter(Role.PACKER)
    text = read(packer, "supplier-detail", offer.supplier_id)
    assert "Cascade" in text
    assert "Add an offer" not in text
    assert send(packer, "offer-change", offer.pk).status_code == 403


def test_the_page_of_a_supplier_costs_the_same_for_many_offers(
    owner: Client, offer: SupplierItem
) -> None:
    few = statements(owner, "supplier-detail", offer.supplier_id)
    for grams in range(1, 12):
        write_offer(
            by=make.user(),
            supplier=offer.supplier,
            item=offer.item,
            pack_quantity=grams * 1000,
            breaks=[(1, 100)],
        )
    assert statements(owner, "supplier-detail", offer.supplier_id) == few
