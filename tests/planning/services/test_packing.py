from datetime import timedelta

import pytest

from boxwort.errors import Refusal
from inventory.models import Lot, LotStock, Move
from inventory.services.lots import hold_lot
from planning.models import Batch, RunState
from planning.services.packing import close_run, undo_packing
from planning.services.reserving import cancel_run
from tests.planning.make import PACK_ON, do_jobs, pack, packing, store

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def test_packing_uses_what_was_reserved_and_makes_the_lot_of_finished_kits():
    made, _run, batch = packing()
    lot = pack(made, batch)
    assert (lot.code, lot.item) == (batch.code, made.kit.item)
    assert LotStock.objects.get(lot=lot).on_hand == 10
    assert not LotStock.objects.filter(reserved__gt=0).exists()
    for row in batch.allocations.filter(current=True):
        consumed = Move.objects.get(lot=row.lot, posting__conversion=batch.conversion)
        total = sum(other.used for other in batch.allocations.filter(current=True, lot=row.lot))
        assert consumed.quantity == total


def test_what_was_really_used_is_posted_not_what_was_planned():
    made, _run, batch = packing()
    row = batch.allocations.get(bill_line__role="absorb")
    before = LotStock.objects.get(lot=row.lot).on_hand
    pack(made, batch, used={row.pk: row.quantity + 5_000})
    assert LotStock.objects.get(lot=row.lot).on_hand == before - row.quantity - 5_000
    row.refresh_from_db()
    assert row.used == row.quantity + 5_000


def test_the_kit_is_best_before_the_first_thing_in_it():
    made, _run, batch = packing()
    first = PACK_ON + timedelta(days=40)
    Lot.objects.filter(allocations__bill_line__item=made.goods.crystal).update(best_before_on=first)
    assert pack(made, batch).best_before_on == first


def test_a_batch_is_packed_only_while_its_run_is_being_packed():
    made = store()
    made.reserved(10)
    batch = Batch.objects.select_related("run_line__run").get()
    with pytest.raises(Refusal) as refused:
        pack(made, batch)
    assert refused.value.code == "batch-not-ready"


def test_a_batch_with_an_undecided_proposal_is_not_packed():
    made, _run, batch = packing()
    made.analysed(Lot.objects.get(code="BITTER-A"), 0.06)
    do_jobs()
    with pytest.raises(Refusal) as refused:
        pack(made, batch)
    assert refused.value.code == "proposal-undecided"


def test_a_batch_whose_lot_is_on_hold_is_not_packed():
    made, _run, batch = packing()
    lot = Lot.objects.get(code="AROMA-A")
    hold_lot(by=made.by, lot=lot, expected=lot.version, reason="asked the supplier")
    with pytest.raises(Refusal, match="AROMA-A is on hold"):
        pack(made, batch)
    assert not Move.objects.filter(posting__conversion=batch.conversion).exists()


def test_more_kits_than_the_batch_holds_cannot_be_packed():
    made, _run, batch = packing()
    with pytest.raises(Refusal) as refused:
        pack(made, batch, kits=11)
    assert refused.value.code == "kits-out-of-range"


def test_closing_gives_back_what_was_not_packed_and_a_packed_run_cannot_be_cancelled():
    made, run, batch = packing()
    with pytest.raises(Refusal, match="No batch"):
        close_run(by=made.by, run=run, expected=run.version)
    pack(made, batch)
    with pytest.raises(Refusal) as refused:
        cancel_run(by=made.by, run=run, expected=run.version)
    assert refused.value.code == "batch-already-packed"
    close_run(by=made.by, run=run, expected=run.version)
    assert run.state == RunState.CLOSED


def test_undoing_a_packing_puts_the_ingredients_back():
    made, _run, batch = packing()
    row = batch.allocations.get(bill_line__role="absorb")
    before = LotStock.objects.get(lot=row.lot).on_hand
    lot = pack(made, batch)
    undo_packing(by=made.by, batch=batch, expected=batch.version, reason="wrong batch", key="undo")
    assert LotStock.objects.get(lot=row.lot).on_hand == before
    assert LotStock.objects.get(lot=lot).on_hand == 0
    assert batch.state == "cancelled"


def test_what_another_batch_was_allotted_cannot_be_noted_as_used():
    made, _run, batch = packing()
    strange = max(row.pk for row in batch.allocations.all()) + 1
    with pytest.raises(Refusal) as refused:
        pack(made, batch, used={strange: 5_000})
    assert refused.value.code == "used-of-another-batch"
