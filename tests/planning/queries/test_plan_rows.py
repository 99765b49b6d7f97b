"""The plan as people read it."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import Item, ItemKind, PriceBreak, SupplierItem
from inventory.services.catalogue import write_offer, write_supplier
from planning.engine.plan_causes import CauseKind
from planning.models import CustomerOrder, Forecast, OrderLine
from planning.queries.item_phases import item_phases
from planning.queries.plan_rows import plan_page
from recipes.models import Kit
from tests.planning.make import PACK_ON, TODAY, grams, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


def ordered(kit, kits, promised_on, code="CO-1", **facts):
    order = CustomerOrder.objects.create(code=code, customer="Ann", promised_on=promised_on)
    OrderLine.objects.create(order=order, position=1, kit=kit, quantity=kits, **facts)
    return order


def test_orders_and_what_they_leave_of_the_forecast_are_suggested_by_week():
    made = store()
    ordered(made.kit, 6, TODAY + timedelta(days=2))
    Forecast.objects.create(kit=made.kit, week_on=TODAY, kits=10)
    (week,) = plan_page(TODAY).weeks
    assert week.week_on == TODAY
    assert [(run.kits, run.lines[0].serves) for run in week.runs] == [
        (6, (("CO-1", 6),)),
        (4, (("what is foreseen for the week of 2\xa0Mar\xa02026", 4),)),
    ]


def test_what_is_dispatched_has_used_up_its_forecast():
    made = store()
    order = ordered(made.kit, 6, TODAY)
    order.lines.update(dispatched=6)
    Forecast.objects.create(kit=made.kit, week_on=TODAY, kits=10)
    (week,) = plan_page(TODAY).weeks
    assert [run.kits for run in week.runs] == [4]


def test_a_run_that_waits_says_for_what_and_what_can_be_done():
    made = store(hops=False, shelf_days=14)
    made.lot(made.goods.ale_yeast, 100, received_on=TODAY, packaged_on=TODAY)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    run = made.plan(10)
    (row,) = plan_page(TODAY).waiting
    assert (row.kind, row.reference, row.ready_on) == (CauseKind.RUN, run.code, None)
    assert [item.item_code for item in row.lacking] == ["BITTER"]
    assert (row.kits, row.possible) == (10, 0)


def test_an_item_is_shown_week_by_week_with_what_it_serves():
    made = store()
    made.plan(10)
    found = item_phases(TODAY, made.goods.box.pk)
    assert [(week.gross, week.projected) for week in found.weeks[:2]] == [(0, 500), (10, 490)]
    (supply,) = found.supplies
    assert (supply.serves[0][1], supply.left) == (10, 490)
    (need,) = found.needs
    assert sum(peg.quantity for peg in need.pegs) == need.quantity == 10


@pytest.mark.parametrize("kits", [3, 30])
def test_the_plan_takes_as_many_statements_for_three_kits_as_for_thirty(kits):
    made = store()
    for number in range(kits):
        kit = offered_kit(offered(pale_ale(made.goods, f"A-{number}")), f"K-{number}", made.goods)
        ordered(kit, 3, PACK_ON, code=f"CO-{number}")
        made.lot(made.goods.bittering, grams(10 + number), alpha=0.08)
    with CaptureQueriesContext(connection) as asked:
        page = plan_page(TODAY)
    assert page.figures["kits"] == 3 * kits
    assert len(asked) == STATEMENTS


STATEMENTS = 26


def test_a_kit_that_ends_says_how_many_to_have_for_the_rest_of_its_sale():
    made = store()
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    for item in Item.objects.exclude(kind=ItemKind.KIT):
        made.lot(item, 1_000, cost_amount=10, code=f"C-{item.code}"[:20])
    Kit.objects.update(
        price=400_000,
        last_pack_on=TODAY + timedelta(days=14),
        last_sale_on=TODAY + timedelta(days=40),
    )
    Forecast.objects.create(kit=made.kit, week_on=TODAY + timedelta(weeks=4), kits=30)
    ordered(made.kit, 2, TODAY + timedelta(days=30))
    (row,) = plan_page(TODAY).last_runs
    assert (row.kit_code, row.firm, row.foreseen) == (made.kit.item.code, 2, 28)
    assert row.working is not None
    assert row.kits == 2 + row.working.value


def test_a_kit_that_earns_nothing_has_no_number_that_pays_best():
    made = store()
    Kit.objects.update(price=0, last_pack_on=TODAY + timedelta(days=14))
    ordered(made.kit, 2, TODAY + timedelta(days=30))
    (row,) = plan_page(TODAY).last_runs
    assert (row.firm, row.kits, row.working) == (2, None, None)


def test_an_item_says_how_much_at_once_costs_the_least():
    made = store()
    supplier = write_supplier(by=made.by, code="BOXCO", name="Box Company")
    write_offer(
        by=made.by, supplier=supplier, item=made.goods.box, pack_quantity=10, breaks=[(1, 200_000)]
    )
    ordered(made.kit, 52, TODAY + timedelta(days=30))
    assert item_phases(TODAY, made.goods.box.pk).at_once is None  # placing costs nothing
    Item.objects.filter(pk=made.goods.box.pk).update(order_cost=50_000)
    found = item_phases(TODAY, made.goods.box.pk).at_once
    assert found is not None
    assert found.quantity == pytest.approx((2 * 5.0 * 52 * 365 / 182 / (0.2 * 2.0)) ** 0.5)
    PriceBreak.objects.create(offer=SupplierItem.objects.get(), from_packs=10, pack_price=150_000)
    found = item_phases(TODAY, made.goods.box.pk).at_once
    assert found is not None  # a hundred boxes, the least that cost 1.50 each
    assert found.quantity == 100
