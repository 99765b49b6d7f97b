"""What to buy from whom, in packs, by when and for which runs."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.figures import on_date
from boxwort.quantities import MG_PER_KG, Measure
from inventory.models import ItemKind, LotStatus
from inventory.services.catalogue import write_item, write_offer, write_supplier
from planning.queries.purchasing import purchase_plan
from recipes.services.kits import PartFacts
from tests.planning.make import PACK_ON, TODAY, grams, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db
STATEMENTS = 24


def offer(item, code="HOPHOUSE", pack=500_000, lead_days=3, **facts):
    supplier = write_supplier(by=planner(), code=code, name=code.title())
    known = {"breaks": [(1, 200_000)], "preferred": True} | facts
    return write_offer(
        by=planner(), supplier=supplier, item=item, pack_quantity=pack, lead_days=lead_days, **known
    )


def only_line(plan):
    ((line,),) = [supplier.lines for supplier in plan.suppliers]
    return line


def short_of_bittering():
    made = store(hops=False, shelf_days=14)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.ale_yeast, 100, received_on=TODAY, packaged_on=TODAY)
    return made, made.plan(10)


def test_what_is_missing_is_ordered_in_whole_packs_for_the_runs_that_wait():
    made, run = short_of_bittering()
    offer(made.goods.bittering, supplier_code="B-500")
    line = only_line(purchase_plan(TODAY))
    assert (line.item_code, line.supplier_item_code, line.runs) == ("BITTER", "B-500", (run.code,))
    assert (line.packs, line.quantity, line.cost) == (1, grams(500), 200_000)
    assert (line.need_by, line.order_by) == (PACK_ON, PACK_ON - timedelta(days=3))
    assert not line.past_due


def test_the_run_names_what_it_waits_for():
    made, run = short_of_bittering()
    offer(made.goods.bittering)
    (waiting,) = purchase_plan(TODAY).runs
    assert (waiting.run_code, waiting.pack_on) == (run.code, PACK_ON)
    assert [(item.item_code, missing) for item, missing in waiting.items] == [
        ("BITTER", waiting.items[0][0].gross)
    ]


def test_the_minimum_order_and_the_price_break_are_explained():
    made, _ = short_of_bittering()
    offer(made.goods.bittering, pack=grams(100), minimum_packs=5, breaks=[(1, 90_000)])
    line = only_line(purchase_plan(TODAY))
    assert (line.packs, line.pack_price) == (5, 90_000)
    assert "minimum order" in " ".join(line.reasons)


def test_an_order_that_should_have_gone_says_what_can_be_done():
    made, run = short_of_bittering()
    offer(made.goods.bittering, lead_days=10)
    offer(made.goods.bittering, code="NEARBY", lead_days=2, preferred=False)
    made.lot(made.goods.bittering, grams(300), status=LotStatus.QUARANTINE)
    line = only_line(purchase_plan(TODAY))
    advice = " ".join(line.advice)
    assert line.past_due
    assert line.arrives_on == TODAY + timedelta(days=10)
    assert "300.0 g waits in quarantine" in advice
    assert "Nearby delivers in 2 days, in time" in advice
    assert run.code not in advice


def test_with_no_quicker_supplier_the_run_is_asked_to_wait():
    made, run = short_of_bittering()
    offer(made.goods.bittering, lead_days=10)
    line = only_line(purchase_plan(TODAY))
    assert f"move {run.code} to {on_date(TODAY + timedelta(days=10))} or later" in " ".join(
        line.advice
    )


def test_without_a_preferred_offer_the_cheapest_for_that_amount_is_taken():
    made, _ = short_of_bittering()
    offer(made.goods.bittering, code="DEAR", preferred=False)
    offer(made.goods.bittering, code="CHEAP", preferred=False, breaks=[(1, 150_000)])
    offer(made.goods.bittering, code="UNPRICED", preferred=False, breaks=[])
    assert [supplier.supplier_code for supplier in purchase_plan(TODAY).suppliers] == ["CHEAP"]


def test_an_offer_without_a_price_is_bought_from_and_says_so():
    made, _ = short_of_bittering()
    offer(made.goods.bittering, breaks=[])
    line = only_line(purchase_plan(TODAY))
    assert (line.pack_price, line.cost) == (None, 0)
    assert "has given no price" in " ".join(line.reasons)


def test_an_item_that_nobody_offers_is_listed_with_the_remedy():
    _, run = short_of_bittering()
    plan = purchase_plan(TODAY)
    (row,) = plan.unoffered
    assert plan.suppliers == ()
    assert (row.item_code, row.runs) == ("BITTER", (run.code,))
    assert row.remedy.startswith("No supplier offers Bitter (BITTER): add an offer")


def test_what_will_not_keep_until_a_later_run_is_an_order_of_its_own():
    made = store()
    yeast = made.goods.ale_yeast
    first, second = made.plan(5), made.plan(5, PACK_ON + timedelta(days=60))
    type(yeast).objects.filter(pk=yeast.pk).update(shelf_days=40)
    offer(yeast, pack=1)
    (supplier,) = purchase_plan(TODAY).suppliers
    assert [(line.need_by, line.runs, line.packs) for line in supplier.lines] == [
        (PACK_ON, (first.code,), 10),
        (PACK_ON + timedelta(days=60), (second.code,), 10),
    ]


def test_only_what_must_be_ordered_by_a_day_is_listed_when_asked_so():
    made = store()
    yeast = made.goods.ale_yeast
    made.plan(5)
    made.plan(5, PACK_ON + timedelta(days=60))
    type(yeast).objects.filter(pk=yeast.pk).update(shelf_days=40)
    offer(yeast, pack=1)
    (supplier,) = purchase_plan(TODAY).suppliers
    first, second = supplier.lines
    due = purchase_plan(TODAY, until=first.order_by)
    assert (due.suppliers[0].lines, due.later, due.total) == ((first,), 1, first.cost)
    assert purchase_plan(TODAY, until=second.order_by).later == 0
    none = purchase_plan(TODAY, until=first.order_by - timedelta(days=1))
    assert (none.suppliers, none.later, none.total) == ((), 2, 0)


def test_what_keeps_is_ordered_once_for_all_runs_by_the_first_of_them():
    made = store()
    first, second = made.plan(5), made.plan(5, PACK_ON + timedelta(days=60))
    offer(made.goods.ale_yeast, pack=1)
    line = only_line(purchase_plan(TODAY))
    assert (line.need_by, line.runs, line.packs) == (PACK_ON, (first.code, second.code), 20)


def test_enough_of_everything_buys_nothing():
    made = store(shelf_days=14)
    made.lot(made.goods.ale_yeast, 100, received_on=TODAY, packaged_on=TODAY)
    made.plan(10)
    plan = purchase_plan(TODAY)
    assert (plan.suppliers, plan.unoffered, plan.runs, plan.total) == ((), (), (), 0)
    assert {row.item_code for row in plan.items} >= {"EXTRACT", "BITTER", "BOX"}


def _kit_of_many_parts(made, parts):
    items = [
        write_item(
            by=planner(), code=f"PART-{n}", name=f"Part {n}", kind=ItemKind.PACKAGING,
            measure=Measure.COUNT,
        )
        for n in range(parts)
    ]  # fmt: skip
    for item in items:
        offer(item, code=f"SHOP-{item.pk % 5}", pack=10)
    facts = [PartFacts(item=item, quantity=1) for item in items]
    made.kit = offered_kit(
        offered(pale_ale(made.goods, "MANY")), "KIT-MANY", made.goods, parts=facts
    )


@pytest.mark.parametrize("parts", [3, 30])
def test_the_plan_takes_as_many_statements_for_three_items_as_for_thirty(parts):
    made = store()
    _kit_of_many_parts(made, parts)
    made.plan(10)
    with CaptureQueriesContext(connection) as asked:
        plan = purchase_plan(TODAY)
    assert sum(len(supplier.lines) for supplier in plan.suppliers) == parts
    assert len(asked) == STATEMENTS


def test_two_runs_share_what_the_first_leaves_of_a_pack():
    made, _ = short_of_bittering()
    made.plan(10, PACK_ON + timedelta(days=7))
    made.lot(made.goods.dry_extract, 100 * MG_PER_KG)
    offer(made.goods.bittering, pack=grams(1000))
    assert only_line(purchase_plan(TODAY)).packs == 1
