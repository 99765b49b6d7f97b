"""What kits cost now, and what each lot of them did cost."""

from __future__ import annotations

import pytest

from boxwort.quantities import MG_PER_KG
from inventory.models import Lot
from inventory.services.catalogue import write_offer, write_supplier
from planning.queries.item_costs import item_costs
from planning.queries.kit_costs import in_cents, kit_cost_rows, standard_costs
from recipes.models import KitBillLine, Part
from tests.planning.make import TODAY, pack, packing, store

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def offered(made, item, pack_quantity, price, code="DALE", **facts):
    supplier = write_supplier(by=made.by, code=code, name=code)
    return write_offer(
        by=made.by,
        supplier=supplier,
        item=item,
        pack_quantity=pack_quantity,
        breaks=[(1, price)],
        **facts,
    )


def test_an_item_costs_what_its_newest_lot_was_landed_for_or_else_what_an_offer_asks():
    made = store()
    malt = made.goods.pale_malt
    Lot.objects.update(cost_amount=0)
    offered(made, malt, 25 * MG_PER_KG, 400_000)
    offered(made, malt, 5 * MG_PER_KG, 90_000, code="NEAR", preferred=True)
    assert item_costs()[malt.pk] == (90_000, 5 * MG_PER_KG)
    made.lot(malt, 100, cost_amount=7, received_on=TODAY)
    assert item_costs()[malt.pk] == (7, 100)


def test_a_kit_costs_the_sum_of_its_bill_with_one_yeast():
    made = store()
    Lot.objects.update(cost_amount=0)
    rows = list(made.kit.bill.select_related("item"))
    for row in rows:
        offered(made, row.item, 1, 3, code="ALL")
    found = standard_costs([made.kit.pk])[made.kit.pk]
    yeasts = [row for row in rows if row.is_yeast_option]
    counted = [row for row in rows if row not in yeasts[1:]]
    assert float(found.exact) == pytest.approx(
        sum(3 * row.packed * (1 + row.overage) for row in counted)
    )
    assert found.cost == in_cents(found.exact)
    assert found.unpriced == ()
    late = [row for row in counted if row.part == Part.DISPATCH]
    assert found.at_dispatch == sum(3 * row.packed for row in late)


def test_what_nothing_says_the_cost_of_is_named():
    made = store()
    Lot.objects.update(cost_amount=0)
    (row,) = kit_cost_rows(kit_code=made.kit.item.code)
    assert (row.standard, row.lots, row.mean) == (0, (), None)
    assert row.unpriced


def test_a_lot_of_kits_costs_what_was_packed_and_what_is_added_at_dispatch():
    made, _, batch = packing(10)
    lot = pack(made, batch)
    made.kit.price = 500_000
    made.kit.save()
    Lot.objects.filter(pk=lot.pk).update(cost_amount=1_000_001, cost_quantity=10)
    (row,) = kit_cost_rows(kit_code=made.kit.item.code)
    (of_lot,) = row.lots
    added = standard_costs([made.kit.pk])[made.kit.pk].at_dispatch
    assert (of_lot.kits, of_lot.packed, of_lot.added) == (10, 100_000, in_cents(added))
    assert of_lot.margin == 500_000 - of_lot.cost
    assert (row.least, row.most, row.mean) == (of_lot.cost, of_lot.cost, of_lot.cost)
    assert row.working.value * 10_000 == pytest.approx(row.standard, abs=50)


def test_kits_are_costed_in_as_many_statements_however_many_lots(django_assert_num_queries):
    made = store()
    with django_assert_num_queries(7):
        kit_cost_rows()
    for number in range(5):
        Lot.objects.create(
            code=f"K-{number}",
            item=made.kit.item,
            received_on=TODAY,
            cost_amount=10,
            cost_quantity=1,
        )
    assert KitBillLine.objects.exists()
    with django_assert_num_queries(7):
        kit_cost_rows()
