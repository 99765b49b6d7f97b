"""The mix by what is here, in words a planner reads."""

from __future__ import annotations

import re
from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.figures import NO_BREAK
from inventory.models import Item
from inventory.services.catalogue import write_supplier
from planning.engine.mix import mixed
from planning.models import Forecast, OrderState, PurchaseLine, PurchaseOrder
from planning.queries.mix import mix_page
from recipes.models import Kit
from tests.planning.make import TODAY, grams, store
from tests.planning.queries.test_plan_rows import ordered

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]
UNTIL = TODAY + timedelta(weeks=4)
NEXT_WEEK = TODAY + timedelta(days=7)


@pytest.fixture
def asked_of(monkeypatch):
    """The kits that a mix was sought for."""
    asked = []

    def heard(kits, stock):
        asked.extend(kits)
        return mixed(kits, stock)

    monkeypatch.setattr("planning.queries.mix.mixed", heard)
    return asked


def scarce(price=600_000):
    """Hops for some kits only: 400 g of the bittering hop, and everything else in plenty."""
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(400), code="BITTER-A", alpha=0.08)
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    Kit.objects.update(price=price)
    return made


def test_nothing_wanted_is_no_mix():
    store()
    found = mix_page(TODAY, UNTIL)
    assert (found.rows, found.earns) == ((), 0)


def test_plenty_of_everything_packs_all_that_is_wanted():
    made = store()
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    ordered(made.kit, 6, NEXT_WEEK)
    Forecast.objects.create(kit=made.kit, week_on=NEXT_WEEK, kits=10)
    (row,) = mix_page(TODAY, UNTIL).rows
    assert (row.firm, row.firm_served, row.wanted, row.pack) == (6, 6, 10, 10)


def test_the_item_that_holds_the_mix_back_is_named_with_what_more_of_it_earns():
    made = scarce()
    Forecast.objects.create(kit=made.kit, week_on=NEXT_WEEK, kits=90)
    found = mix_page(TODAY, UNTIL)
    (row,), (short,) = found.rows, found.short
    assert 0 < row.pack < 90
    assert short.item_code == "BITTER"
    assert short.said.startswith("One more kilogram of")
    assert "would earn" in short.said
    assert found.earns == row.pack * 600_000
    assert "earns more" in found.said


def test_firm_kits_that_cannot_be_packed_are_counted_and_priced_in_kits():
    made = scarce()
    ordered(made.kit, 60, NEXT_WEEK)
    found = mix_page(TODAY, UNTIL)
    assert found.unserved == 60 - found.rows[0].pack
    said = found.short[0].said.replace(NO_BREAK, " ")
    assert re.fullmatch(
        r"Another \d+\.\d g of Bitter would serve one more firm kit; that holds for .* kg more\.",
        said,
    )


def test_packed_kits_serve_the_first_promise_and_need_not_be_packed():
    made = scarce()
    made.lot(made.kit.item, 8, code="KITS")
    ordered(made.kit, 6, NEXT_WEEK)
    ordered(made.kit, 5, NEXT_WEEK + timedelta(days=7), code="CO-2")
    (row,) = mix_page(TODAY, UNTIL).rows
    assert (row.firm, row.pack) == (3, 3)


def test_what_a_batch_holds_is_not_there_for_the_mix():
    made = scarce()
    before = ordered(made.kit, 60, NEXT_WEEK)
    free = mix_page(TODAY, UNTIL).rows[0].pack
    made.reserved(5)
    assert mix_page(TODAY, UNTIL).rows[0].pack == free - 5
    assert before.code == "CO-1"


def test_kits_that_a_batch_holds_stock_for_need_not_be_packed_again():
    made = store()
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    ordered(made.kit, 12, NEXT_WEEK)
    made.reserved(5)
    (row,) = mix_page(TODAY, UNTIL).rows
    assert (row.firm, row.wanted, row.pack) == (7, 7, 7)


def test_what_is_foreseen_after_the_last_day_of_sale_is_not_wanted():
    made = store()
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    for weeks in (1, 2):
        Forecast.objects.create(kit=made.kit, week_on=TODAY + timedelta(weeks=weeks), kits=10)
    Kit.objects.update(last_sale_on=NEXT_WEEK + timedelta(days=6))
    (row,) = mix_page(TODAY, UNTIL).rows
    assert row.wanted == 10


def test_what_arrives_counts_once_it_has_been_checked():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.ale_yeast, 200, received_on=TODAY, packaged_on=TODAY)
    ordered(made.kit, 5, NEXT_WEEK)
    Item.objects.filter(pk=made.goods.bittering.pk).update(quarantine_days=4)
    supplier = write_supplier(by=made.by, code="HOPCO", name="Hop Company")
    order = PurchaseOrder.objects.create(
        code="PO-1", supplier=supplier, ordered_on=TODAY, state=OrderState.SENT
    )
    PurchaseLine.objects.create(
        order=order, item=made.goods.bittering, quantity=grams(5000), due_on=NEXT_WEEK
    )
    assert mix_page(TODAY, NEXT_WEEK + timedelta(days=3)).rows[0].pack == 0
    assert mix_page(TODAY, NEXT_WEEK + timedelta(days=4)).rows[0].pack == 5


def test_weeks_without_a_promise_are_no_aims_of_their_own(asked_of):
    made = scarce()
    ordered(made.kit, 2, NEXT_WEEK)
    ordered(made.kit, 60, TODAY + timedelta(days=3_000), code="CO-2")
    mix_page(TODAY, TODAY + timedelta(days=3_600))
    assert [kit.firm for kit in asked_of] == [(2, 60)]


def test_nothing_is_short_only_where_all_that_is_wanted_is_packed():
    made = scarce()
    ordered(made.kit, 5, NEXT_WEEK)
    assert mix_page(TODAY, UNTIL).all_packed
    ordered(made.kit, 60, NEXT_WEEK, code="CO-2")
    assert not mix_page(TODAY, UNTIL).all_packed


def test_the_price_of_parts_is_taken_off():
    made = scarce()
    made.lot(made.goods.box, 10, code="BOX-2", cost_amount=100_000)
    ordered(made.kit, 1, NEXT_WEEK)
    (row,) = mix_page(TODAY, UNTIL).rows
    assert row.earns_each == 600_000 - 10_000
    assert not row.cost_known


def test_more_orders_take_no_more_statements():
    made = scarce()
    ordered(made.kit, 1, NEXT_WEEK)
    with CaptureQueriesContext(connection) as few:
        mix_page(TODAY, UNTIL)
    for number in range(10):
        ordered(made.kit, 1, NEXT_WEEK, code=f"CO-9{number}")
    with CaptureQueriesContext(connection) as many:
        mix_page(TODAY, UNTIL)
    assert len(many) == len(few)
