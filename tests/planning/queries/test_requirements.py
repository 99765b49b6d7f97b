"""What open runs need, what covers it, and what is missing by which day."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.quantities import MG_PER_KG
from inventory.models import LotStatus
from inventory.services.catalogue import write_offer, write_supplier
from planning.engine.plan import planned
from planning.engine.plan_supplies import Source
from planning.models import Batch
from planning.queries.plan_input import plan_input
from planning.queries.requirements import requirement_rows
from planning.services.orders import OrderedLine, write_order
from planning.services.packing import Packed, pack_batch, start_packing
from tests.planning.make import PACK_ON, TODAY, grams, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db
STATEMENTS = 19


def rows(on=TODAY):
    return {row.item_code: row for row in requirement_rows(planned(plan_input(on)))}


def ordered(item, quantity, due_on, code="PO-1"):
    supplier = write_supplier(by=planner(), code="MALTCO", name="Malt & Co")
    line = OrderedLine(item=item, quantity=quantity, due_on=due_on)
    return write_order(by=planner(), code=code, supplier=supplier, ordered_on=TODAY, lines=[line])


def test_a_planned_run_needs_its_kits_times_the_frozen_bill_with_overage():
    made = store()
    made.plan(10)
    found = rows()
    assert found["EXTRACT"].gross == 27 * MG_PER_KG
    bittering = made.kit.bill.get(role="absorb")
    assert found["BITTER"].gross == round(10 * bittering.packed * 1.02)


def test_parts_added_at_dispatch_are_needed_on_the_pack_day_too():
    store().plan(10)
    yeast = rows()["ALE"]
    assert [(need.on, need.quantity) for need in yeast.needs] == [(PACK_ON, 20)]
    assert "DRY-ALE" not in rows()


def test_stock_that_serves_a_run_is_pegged_lot_by_lot():
    made = store()
    run = made.plan(10)
    (need,) = rows()["BITTER"].needs
    assert need.run_code == run.code
    assert [(peg.source, peg.reference) for peg in need.pegs] == [(Source.LOT, "BITTER-A")]
    assert sum(peg.quantity for peg in need.pegs) == need.quantity


def test_only_released_lots_count_and_what_waits_in_quarantine_is_told_apart():
    made = store(hops=False)
    made.plan(10)
    made.lot(made.goods.bittering, grams(500), status=LotStatus.QUARANTINE)
    row = rows()["BITTER"]
    assert (row.usable, row.quarantine, row.alpha_net) == (0, grams(500), row.alpha_gross)
    assert row.net == -(-row.alpha_net // 0.08)


def test_a_lot_that_expires_before_the_pack_day_does_not_count():
    made = store(hops=False)
    made.plan(10)
    made.lot(
        made.goods.bittering, grams(5000), alpha=0.08, best_before_on=PACK_ON - timedelta(days=1)
    )
    row = rows()["BITTER"]
    assert (row.usable, row.goes_off) == (grams(5000), grams(5000))
    assert row.alpha_net == row.alpha_gross > 0


def test_a_lot_counts_on_its_last_day():
    made = store(hops=False)
    made.plan(10)
    made.lot(made.goods.bittering, grams(5000), alpha=0.08, best_before_on=PACK_ON)
    assert rows()["BITTER"].net == 0


def test_an_expired_lot_is_no_supply_and_is_told_apart():
    made = store(hops=False)
    made.plan(10)
    made.lot(made.goods.bittering, grams(500), best_before_on=TODAY - timedelta(days=1))
    row = rows()["BITTER"]
    assert (row.usable, row.expired) == (0, grams(500))


def test_a_reserved_run_counts_in_gross_and_its_stock_as_supply():
    made = store()
    made.reserved(10)
    row = rows()["BITTER"]
    allotted = Batch.objects.get().allocations.get(bill_line__role="absorb").quantity
    assert (row.gross, row.usable, row.net) == (allotted, grams(2000), 0)


def test_a_packed_batch_has_taken_its_stock_and_needs_no_more():
    made = store()
    run = made.reserved(10)
    start_packing(by=made.by, run=run, expected=run.version)
    batch = Batch.objects.get()
    packed = Packed(kits=10, used={})
    pack_batch(
        by=made.by,
        batch=batch,
        expected=batch.version,
        packed=packed,
        place=made.shelf,
        on=TODAY,
        key="pack",
    )
    assert "BITTER" not in rows()


def test_what_is_on_order_counts_from_its_due_day():
    made = store(hops=False)
    made.plan(10)
    ordered(made.goods.bittering, grams(1000), PACK_ON)
    row = rows()["BITTER"]
    assert (row.on_order, row.net) == (grams(1000), 0)
    assert [peg.reference for peg in row.needs[0].pegs] == ["PO-1"]


def test_an_order_due_after_the_pack_day_comes_too_late_for_it():
    made = store(hops=False)
    made.plan(10)
    ordered(made.goods.bittering, grams(1000), PACK_ON + timedelta(days=1))
    row = rows()["BITTER"]
    assert row.alpha_net == row.alpha_gross > 0


def test_an_overdue_order_is_named():
    made = store(hops=False)
    made.plan(10)
    ordered(made.goods.bittering, grams(1000), TODAY)
    row = rows(on=TODAY + timedelta(days=2))["BITTER"]
    assert (row.late_orders, row.net) == (("PO-1",), 0)


def test_a_safety_stock_is_missing_from_the_day_an_order_could_be_here():
    made = store()
    box = made.goods.box
    type(box).objects.filter(pk=box.pk).update(safety_stock=600)
    supplier = write_supplier(by=planner(), code="BOXES", name="Boxes", lead_days=5)
    write_offer(by=planner(), supplier=supplier, item=box, pack_quantity=50)
    (row,) = rows().values()
    (missing,) = row.missing
    assert (missing.quantity, missing.on, missing.runs) == (100, TODAY + timedelta(days=5), ())


def test_cancelled_and_closed_runs_need_nothing():
    made = store()
    run = made.plan(10)
    type(run).objects.update(state="cancelled")
    assert rows() == {}


@pytest.mark.parametrize("items", [3, 30])
def test_requirements_take_as_many_statements_for_three_items_as_for_thirty(items):
    made = store(hops=False)
    for number in range(items // 3):
        kit = offered_kit(
            offered(pale_ale(made.goods, f"ALE-{number}")), f"KIT-{number}", made.goods
        )
        made.kit = kit
        made.plan(1 + number, PACK_ON + timedelta(days=number))
    with CaptureQueriesContext(
        connection,
    ) as asked:
        rows()
    assert len(asked) == STATEMENTS
