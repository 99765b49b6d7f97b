"""A planner looks ahead, buys, takes a delivery in and sends an order, in a browser."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

import pytest

from boxwort.quantities import MG_PER_KG
from inventory.models import Lot
from inventory.services.catalogue import write_offer, write_supplier
from planning.models import CustomerOrder, Dispatch, Forecast, OrderLine, PurchaseOrder, Run
from planning.services.what_ifs import add_change, begin_what_if, other_demand
from recipes.models import Kit
from tests.browser.visitor import Visitor
from tests.planning.make import PACK_ON, TODAY, Store, grams

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
AHEAD = ("plan-detail", "cover-list", "mix", "what-if-list", "what-if-compare", "allocation-board")
BOUGHT = ("order-list", "kit-cost-list", "supplier-list")


def offered(house: Store) -> None:
    """Let a supplier sell the bittering hop and the extract."""
    supplier = write_supplier(by=house.by, code="DUNMORE", name="Dunmore", lead_days=3)
    for item, pack in ((house.goods.bittering, grams(500)), (house.goods.dry_extract, MG_PER_KG)):
        write_offer(
            by=house.by, supplier=supplier, item=item, pack_quantity=pack, breaks=[(1, 90_000)]
        )


def ordered(house: Store, kits: int, **facts: Any) -> CustomerOrder:
    known = {"code": "CO-1", "customer": "Ann Ash", "promised_on": PACK_ON} | facts
    order = CustomerOrder.objects.create(**known)
    OrderLine.objects.create(order=order, position=1, kit=house.kit, quantity=kits)
    return order


def test_a_planner_takes_up_a_suggested_run(house: Store, visitor: Visitor) -> None:
    ordered(house, 8)
    visitor.go("plan-detail")
    visitor.sees("8 kits")
    visitor.press("button:has-text('Plan this run')")
    assert Run.objects.get().lines.get().kits == 8
    visitor.looked_at()


def test_the_pages_that_look_ahead_hold_no_barrier(house: Store, visitor: Visitor) -> None:
    for name in AHEAD:
        visitor.go(name)
    ordered(house, 300)
    Forecast.objects.create(kit=house.kit, week_on=TODAY + timedelta(days=14), kits=900)
    house.plan(10)
    what_if = begin_what_if(by=house.by, name="Twice as many")
    change = other_demand(house.kit, times=2.0)
    add_change(by=house.by, what_if=what_if, expected=1, other=change)
    for name in AHEAD:
        visitor.go(name)
    visitor.go("what-if-detail", what_if.pk)
    visitor.go("plan-item", house.goods.bittering.pk)
    visitor.sees("What serves it")


def test_a_buyer_drafts_sends_and_takes_a_delivery_in(house: Store, visitor: Visitor) -> None:
    offered(house)
    ordered(house, 300)
    for name in BOUGHT:
        visitor.go(name)
    visitor.go("purchase-list")
    visitor.press("form[action$='draft/'] button >> nth=0")
    order = PurchaseOrder.objects.get()
    visitor.go("order-detail", order.pk)
    visitor.press("#change-order")
    visitor.press("#save-order")
    visitor.press("#send-order")
    visitor.press("main form button")
    visitor.sees("counts as on order")
    visitor.press("#receive-order")
    visitor.page.get_by_label("Good: ").first.fill("1")
    visitor.page.get_by_label("Supplier's lot: ").first.fill("DV-7")
    visitor.press("#take-in")
    visitor.sees("wait in quarantine")
    assert Lot.objects.filter(supplier_lot="DV-7").count() == 1
    visitor.go("order-list-new")


def test_an_order_is_sent_with_its_yeast(house: Store, visitor: Visitor) -> None:
    kits_made = TODAY - timedelta(days=3)
    house.lot(house.kit.item, 4, code="KITS-1", received_on=kits_made, packaged_on=kits_made)
    house.lot(house.goods.ale_yeast, 20, code="ALE-1", received_on=TODAY, packaged_on=TODAY)
    Kit.objects.update(shelf_days=14)  # brewed while the yeast is strong
    order = ordered(house, 2, promised_on=TODAY)
    visitor.go("dispatch-board")
    visitor.go("customer-order-detail", order.pk)
    visitor.go("order-dispatch", order.pk)
    visitor.press("#record-dispatch")
    dispatch = Dispatch.objects.get()
    visitor.go("dispatch-detail", dispatch.pk)
    visitor.sees("ALE-1")
    visitor.go("dispatch-list")
