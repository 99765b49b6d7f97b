"""What the purchase list proposes, as drafts of orders."""

from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from inventory.models import Contract
from planning.models import OrderState, PurchaseOrder
from planning.queries.purchasing import PurchasePlan, PurchaseRow, SupplierPlan
from planning.services.drafting import draft_orders
from planning.services.purchase_orders import change_draft, draft_order
from tests.make import refused
from tests.planning.buying import DUE, ON, SACK, market

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def proposed(offer, packs=4, **facts):
    known = {
        "item_id": offer.item_id,
        "item_code": offer.item.code,
        "item_name": offer.item.name,
        "measure": Measure.MASS,
        "supplier_item_code": "",
        "needed": packs * SACK,
        "on_hand": 0,
        "on_order": 0,
        "net": packs * SACK,
        "pack_quantity": SACK,
        "packs": packs,
        "quantity": packs * SACK,
        "pack_price": 400_000,
        "cost": packs * 400_000,
        "need_by": DUE,
        "order_by": ON,
        "arrives_on": DUE - timedelta(days=2),
        "past_due": False,
        "runs": ("R260309-1",),
        "reasons": (),
        "advice": (),
        "offer_id": offer.pk,
        "arrive_by": DUE - timedelta(days=1),
    }
    return PurchaseRow(**(known | facts))


def plan(shop, *lines):
    supplier = SupplierPlan(
        supplier_id=shop.supplier.pk,
        supplier_code=shop.supplier.code,
        supplier_name=shop.supplier.name,
        lines=lines,
    )
    return PurchasePlan(
        on=ON,
        producer="Fernhollow Kit Works",
        currency=site_settings().currency,
        items=(),
        suppliers=(supplier,) if lines else (),
        unoffered=(),
        runs=(),
    )


def drafted(shop, *lines):
    (order,) = draft_orders(by=shop.by, plan=plan(shop, *lines), on=ON)
    return order


def test_a_draft_takes_over_what_the_list_proposes():
    shop = market()
    line = drafted(shop, proposed(shop.malt)).lines.get()
    assert (line.quantity, line.pack_price, line.runs) == (4 * SACK, 400_000, "R260309-1")
    assert (line.need_by, line.order_by, line.due_on) == (DUE, ON, DUE - timedelta(days=1))


def test_what_is_past_due_is_expected_as_soon_as_it_can_be_here():
    shop = market()
    late = proposed(shop.malt, past_due=True, arrives_on=DUE + timedelta(days=2))
    assert drafted(shop, late).lines.get().due_on == DUE + timedelta(days=2)


def test_drafting_twice_orders_once():
    shop = market()
    drafted(shop, proposed(shop.malt))
    order = drafted(shop, proposed(shop.malt, packs=5))
    assert PurchaseOrder.objects.get() == order
    assert order.lines.get().quantity == 5 * SACK


def test_what_a_person_added_stays_and_what_the_plan_dropped_goes():
    shop = market()
    order = drafted(shop, proposed(shop.malt))
    draft_order(by=shop.by, supplier=shop.supplier, on=ON, lines=[shop.line(1, shop.sugar)])
    order = drafted(shop, proposed(shop.malt))
    assert set(order.lines.values_list("item__code", flat=True)) == {"PALE", "SUGAR"}
    change_draft(
        by=shop.by,
        order=order,
        expected=order.version,
        lines=[shop.line(2), shop.line(1, shop.sugar, order_by=ON)],
    )
    order = drafted(shop, proposed(shop.malt, packs=3))
    assert [line.quantity for line in order.lines.all()] == [3 * SACK]


def test_two_needs_that_arrive_on_one_day_are_one_line_and_a_contract_is_another():
    shop = market()
    Contract.objects.create(
        code="C-26",
        offer=shop.malt,
        quantity=9 * SACK,
        pack_price=350_000,
        from_on=ON,
        until_on=DUE + timedelta(days=30),
    )
    order = drafted(
        shop,
        proposed(shop.malt, packs=2),
        proposed(shop.malt, packs=3, runs=("R260316-1",)),
        proposed(shop.malt, packs=1, contract="C-26", pack_price=350_000),
    )
    first, second = order.lines.order_by("pk")
    assert (first.quantity, first.runs) == (5 * SACK, "R260309-1, R260316-1")
    assert (second.contract.code, second.due_on) == ("C-26", first.due_on + timedelta(days=1))


def test_nothing_to_order_is_refused():
    shop = market()
    with refused("nothing-to-order"):
        draft_orders(by=shop.by, plan=plan(shop), on=ON)


def test_a_line_without_a_price_is_at_the_contracts_or_else_the_offers():
    shop = market()
    agreed = Contract.objects.create(
        code="C-27",
        offer=shop.malt,
        quantity=9 * SACK,
        pack_price=350_000,
        from_on=ON,
        until_on=DUE + timedelta(days=30),
    )
    order = shop.draft(
        shop.line(pack_price=None, contract=agreed), shop.line(1, shop.sugar, pack_price=None)
    )
    assert [line.pack_price for line in order.lines.order_by("pk")] == [350_000, 200_000]
    assert order.state == OrderState.DRAFT


def test_a_contract_is_called_off_for_its_own_offer():
    shop = market()
    agreed = Contract.objects.create(
        code="C-28", offer=shop.sugar, quantity=9 * SACK, from_on=ON, until_on=DUE
    )
    with refused("contract-of-another-offer"):
        shop.draft(shop.line(contract=agreed))
