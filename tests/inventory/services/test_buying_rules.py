"""How items are ordered, when suppliers take orders, crops of hops and contracts."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest

from boxwort.accounts.models import History
from inventory.models import Contract, CropYear, Item, ItemKind, LotRule, Supplier, SupplierItem
from inventory.queries.crops import crops_of
from inventory.queries.suppliers import sold_rows, supplier_rows
from inventory.services.catalogue import write_offer, write_supplier
from inventory.services.contracts import write_contract
from inventory.services.crops import remove_crop, write_crop
from inventory.services.order_rules import OrderRules, change_order_rules
from inventory.services.suppliers import begin_contract, begin_offer, begin_supplier
from tests import make

pytestmark = pytest.mark.django_db
FIXED = OrderRules(
    lot_rule=LotRule.FIXED, fixed_quantity=50_000_000, order_cost=250_000, quarantine_days=3
)
SPRING, AUTUMN = date(2026, 3, 1), date(2026, 9, 1)


def supplier(code: str = "HOPYARD", **facts: Any) -> Supplier:
    return write_supplier(by=make.user(), code=code, name=code.title(), **facts)


def hop_offer() -> SupplierItem:
    hop = make.item("CASCADE", ItemKind.HOP)
    return write_offer(by=make.user(), supplier=supplier(), item=hop, pack_quantity=5_000_000)


def contract(offer: SupplierItem, **facts: Any) -> Contract:
    said = {"code": "C-26", "quantity": 40_000_000, "from_on": SPRING, "until_on": AUTUMN} | facts
    return write_contract(by=make.user(), offer=offer, **said)


def test_an_item_is_ordered_by_its_rule_and_stays_so_when_the_rule_is_not_named() -> None:
    item = make.item(rules=FIXED)
    assert (item.lot_rule, item.fixed_quantity, item.quarantine_days) == ("fixed", 50_000_000, 3)
    make.item(notes="dusty")
    assert Item.objects.get().order_cost == 250_000
    kept = Item.objects.get()
    change_order_rules(
        by=make.user(), item=kept, expected=kept.version, rules=OrderRules(), safety_stock=7
    )
    kept.refresh_from_db()
    assert (kept.lot_rule, kept.safety_stock) == (LotRule.PERIOD, 7)
    assert History.objects.filter(thing="inventory.item").latest("pk").after["safety_stock"] == 7
    with make.refused("changed-by-someone-else"):
        change_order_rules(by=make.user(), item=kept, expected=1, rules=FIXED, safety_stock=0)


@pytest.mark.parametrize(
    ("rules", "field"),
    [
        ({"lot_rule": LotRule.FIXED}, "fixed_quantity"),
        ({"fixed_quantity": 0}, "fixed_quantity"),
        ({"period_days": 0}, "period_days"),
        ({"quarantine_days": 400}, "quarantine_days"),
        ({"order_cost": -1}, "order_cost"),
    ],
)
def test_what_cannot_be_ordered_by_is_refused_by_its_field(
    rules: dict[str, Any], field: str
) -> None:
    assert [name for name, _, _ in OrderRules(**rules).problems()] == [field]
    with make.refused("order-rules-impossible"):
        make.item(rules=OrderRules(**rules))


def test_a_lot_rule_nobody_knows_is_refused() -> None:
    with make.refused("word-not-known"):
        make.item(rules=OrderRules(lot_rule="by feel"))


def test_a_supplier_takes_orders_on_its_days_and_may_go_out_of_use() -> None:
    supplier(order_weekdays="14", counts_working_days=True, active=False)
    supplier(order_weekdays="14", counts_working_days=True)
    (row,) = supplier_rows()
    assert (row.order_weekdays, row.counts_working_days, row.active) == ("14", True, False)
    assert supplier_rows(active_only=True) == []
    with make.refused("order-days-missing"):
        supplier(order_weekdays="")
    with make.refused("entry-not-valid"):
        supplier(order_weekdays="41")


def test_what_is_new_is_refused_where_it_stands_already() -> None:
    offer = hop_offer()
    contract(offer)
    with make.refused("supplier-code-taken"):
        begin_supplier(by=make.user(), code="HOPYARD", name="Other")
    with make.refused("offer-known"):
        begin_offer(
            by=make.user(), supplier=offer.supplier, item=offer.item, pack_quantity=5_000_000
        )
    with make.refused("contract-code-taken"):
        begin_contract(
            by=make.user(), code="C-26", offer=offer, quantity=1, from_on=SPRING, until_on=AUTUMN
        )


def test_offers_are_read_with_their_prices_in_two_statements(
    django_assert_num_queries: Any,
) -> None:
    offer = hop_offer()
    breaks = [(1, 900_000), (4, 850_000)]
    write_offer(
        by=make.user(),
        supplier=offer.supplier,
        item=offer.item,
        pack_quantity=5_000_000,
        breaks=breaks,
    )
    with django_assert_num_queries(2):
        (row,) = sold_rows(supplier_id=offer.supplier_id)
    assert [tuple(pair) for pair in row.breaks] == breaks
    assert (row.supplier, row.item_code, row.own_lead_days) == ("HOPYARD", "CASCADE", None)


def test_a_crop_is_noted_changed_by_its_year_and_taken_away() -> None:
    hop = make.item("CASCADE", ItemKind.HOP)
    for alpha in (0.06, 0.065, 0.065):
        write_crop(by=make.user(), item=hop, year=2026, from_on=AUTUMN, planning_alpha=alpha)
    (row,) = crops_of(hop.pk)
    assert (row.year, row.planning_alpha) == (2026, 0.065)
    assert History.objects.filter(action="crop-2026").count() == 2
    with make.refused("crop-day-taken"):
        write_crop(by=make.user(), item=hop, year=2025, from_on=AUTUMN, planning_alpha=0.05)
    remove_crop(by=make.user(), crop=CropYear.objects.get())
    assert crops_of(hop.pk) == []


def test_only_hops_have_crops_and_only_an_alpha_acid_that_a_hop_can_have() -> None:
    with make.refused("not-a-hop"):
        write_crop(by=make.user(), item=make.item(), year=2026, from_on=AUTUMN, planning_alpha=0.05)
    hop = make.item("CASCADE", ItemKind.HOP)
    for facts, code in (
        ({"planning_alpha": 0.5}, "value-not-possible"),
        ({"year": 26}, "value-not-possible"),
    ):
        said = {"year": 2026, "from_on": AUTUMN, "planning_alpha": 0.05} | facts
        with make.refused(code):
            write_crop(by=make.user(), item=hop, **said)


def test_a_contract_is_made_and_changed_and_is_not_another_offers() -> None:
    offer = hop_offer()
    made = contract(offer, crop_year=2026, pack_price=800_000)
    changed = contract(offer, crop_year=2026, pack_price=790_000, expected=made.version)
    assert (changed.version, changed.pack_price) == (2, 790_000)
    other = write_offer(
        by=make.user(), supplier=offer.supplier, item=offer.item, pack_quantity=1_000_000
    )
    for facts, code in (
        ({"offer": other}, "contract-of-another-offer"),
        ({"until_on": date(2026, 1, 1)}, "contract-days-impossible"),
        ({"quantity": 0}, "quantity-not-positive"),
        ({"crop_year": 1900}, "value-not-possible"),
    ):
        with make.refused(code):
            contract(facts.pop("offer", offer), **facts)


def test_a_contract_for_malt_has_no_crop_year() -> None:
    malt = write_offer(
        by=make.user(), supplier=supplier(), item=make.item(), pack_quantity=25_000_000
    )
    with make.refused("not-a-hop"):
        contract(malt, crop_year=2026)
