from datetime import timedelta

import pytest
from django.db import OperationalError, transaction

from boxwort.errors import Refusal
from inventory.models import Lot, LotStock, Reservation
from planning.models import Batch, BatchState, RunState
from planning.queries.verify import batch_check
from planning.services import reserving
from planning.services.reserving import cancel_run, give_run_back, reserve_run
from tests.make import refused as expect_refusal
from tests.planning.make import PACK_ON, TODAY, aim_at, grams, ibu_of_other_hops, store

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def bittering_row(batch):
    return batch.allocations.get(current=True, bill_line__role="absorb")


def test_a_run_that_fits_one_set_of_lots_is_one_batch_with_one_sheet():
    made = store()
    run = made.reserved(10)
    (batch,) = Batch.objects.all()
    assert run.state == RunState.RESERVED
    assert batch.kits == 10
    assert batch.sheets.get().content["kits"] == 10
    assert (batch.brew_on - run.pack_on).days == made.kit.shelf_days


def test_a_weaker_hop_gets_a_heavier_pouch_and_the_bitterness_stays():
    made = store(hops=False)
    made.lot(made.goods.bittering, grams(2000), alpha=0.064)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.reserved(10)
    batch = Batch.objects.get()
    row = bittering_row(batch)
    assert row.per_kit > row.bill_line.packed
    figures = batch.sheets.get().content["figures"]
    assert figures["ibu"] == pytest.approx(figures["ibu_target"], abs=0.3)


def test_late_and_dry_hops_keep_their_weight_whatever_the_lot():
    made = store(hops=False)
    made.lot(made.goods.bittering, grams(2000), alpha=0.08)
    made.lot(made.goods.aroma, grams(3000), alpha=0.09)
    made.reserved(10)
    held = Batch.objects.get().allocations.filter(bill_line__role="hold_weight")
    assert [row.per_kit for row in held] == [row.bill_line.packed for row in held]


def test_the_older_lot_goes_first_when_it_holds_the_whole_run():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(2000), code="NEW", alpha=0.08)
    made.lot(
        made.goods.bittering,
        grams(2000),
        code="OLD",
        alpha=0.08,
        best_before_on=PACK_ON,
    )
    made.reserved(10)
    assert bittering_row(Batch.objects.get()).lot.code == "OLD"


def test_kits_that_no_single_lot_holds_are_cut_into_two_batches():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(300), alpha=0.08)
    made.lot(made.goods.bittering, grams(300), alpha=0.10)
    made.reserved(12)
    batches = Batch.objects.order_by("number")
    assert sum(batch.kits for batch in batches) == 12
    assert len({bittering_row(batch).lot_id for batch in batches}) == 2
    weights = {bittering_row(batch).alpha: bittering_row(batch).per_kit for batch in batches}
    assert weights[max(weights)] < weights[min(weights)]


def test_what_is_reserved_is_kits_times_the_sheet_and_the_overage():
    made = store()
    made.reserved(10)
    row = bittering_row(Batch.objects.get())
    assert row.bill_line.overage == 0.02
    assert row.quantity == -(-row.per_kit * 10 * 102 // 100)
    assert LotStock.objects.get(lot=row.lot).reserved == row.quantity


def test_a_short_run_says_what_how_much_and_how_many_kits_are_possible():
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(200), alpha=0.08)
    run = made.plan(10)
    with pytest.raises(Refusal) as refused:
        reserve_run(by=made.by, run=run, expected=run.version)
    assert refused.value.code == "run-short"
    (short,) = refused.value.details["shortages"]
    assert short["item"] == made.goods.bittering.code
    assert short["short"] == short["needed"] - 200_000
    assert refused.value.details["possible"] == {"KIT-PALE": short["kits_possible"]}
    assert 0 < short["kits_possible"] < 10
    assert not Reservation.objects.exists()
    run.refresh_from_db()
    assert run.state == RunState.PLANNED


def test_divisible_malt_may_come_from_two_lots_within_a_batch():
    made = store()
    extract = made.goods.dry_extract
    made.lot(extract, 3_000_000, code="EX-OLD", best_before_on=PACK_ON)
    made.reserved(10)
    rows = Batch.objects.get().allocations.filter(bill_line__item=extract)
    assert rows.count() == 2
    assert rows.get(lot__code="EX-OLD").quantity == 3_000_000
    assert sum(row.quantity for row in rows) == 10 * rows[0].per_kit


def test_cancelling_gives_everything_back_and_voids_the_sheet():
    made = store()
    run = made.reserved(10)
    cancel_run(by=made.by, run=run, expected=run.version, reason="the boxes did not come")
    assert run.state == RunState.CANCELLED
    assert not LotStock.objects.filter(reserved__gt=0).exists()
    batch = Batch.objects.get()
    assert batch.state == BatchState.CANCELLED
    assert batch.sheets.get().void_reason == "the boxes did not come"


def test_a_run_taken_back_to_plan_can_be_reserved_again_under_new_batch_codes():
    made = store()
    run = made.reserved(10)
    give_run_back(by=made.by, run=run, expected=run.version)
    reserve_run(by=made.by, run=run, expected=run.version)
    assert list(Batch.objects.values_list("code", "state").order_by("code")) == [
        (f"{run.code}-01", "cancelled"),
        (f"{run.code}-02", "reserved"),
    ]


def test_a_run_changed_by_someone_else_is_not_reserved():
    made = store()
    run = made.plan(10)
    with pytest.raises(Refusal, match="changed by someone else"):
        reserve_run(by=made.by, run=run, expected=run.version + 1)
    assert not Batch.objects.exists()


def test_a_lot_on_hold_expired_or_in_quarantine_is_never_reserved():
    made = store(hops=False)
    goods = made.goods
    made.lot(goods.aroma, grams(3000), alpha=0.06)
    made.lot(goods.bittering, grams(2000), alpha=0.08, status="quarantine")
    made.lot(goods.bittering, grams(2000), alpha=0.08, best_before_on=PACK_ON - timedelta(days=1))
    run = made.plan(10)
    with pytest.raises(Refusal) as refused:
        reserve_run(by=made.by, run=run, expected=run.version)
    assert refused.value.details["possible"] == {"KIT-PALE": 0}


def test_weights_are_made_again_when_a_lot_is_analysed_while_they_are_worked_out(monkeypatch):
    made = store()
    run = made.plan(10)
    worked_out = reserving.run_plan

    def analysed_meanwhile(run):
        plan = worked_out(run)
        if not Batch.objects.exists() and Lot.objects.get(code="BITTER-A").analyses.count() == 1:
            made.analysed(Lot.objects.get(code="BITTER-A"), 0.06)
        return plan

    monkeypatch.setattr(reserving, "run_plan", analysed_meanwhile)
    reserve_run(by=made.by, run=run, expected=run.version)
    assert bittering_row(Batch.objects.get()).alpha == pytest.approx(0.06, rel=0.1)


def test_an_act_tried_again_after_a_deadlock_does_not_believe_its_first_try(monkeypatch):
    made = store()
    run = made.plan(10)
    issue = reserving.issue_sheet

    def deadlocked(**_):
        raise OperationalError("deadlock detected")

    monkeypatch.setattr(reserving, "issue_sheet", deadlocked)
    with pytest.raises(OperationalError), transaction.atomic():
        reserve_run(by=made.by, run=run, expected=1)
    monkeypatch.setattr(reserving, "issue_sheet", issue)
    reserve_run(by=made.by, run=run, expected=1)
    assert Batch.objects.get().sheets.count() == 1


def test_a_hop_that_the_balance_brings_to_nothing_is_nothing_on_the_sheet_too():
    made = store(hops=False)
    made.lot(made.goods.bittering, grams(2000), alpha=0.08)
    aroma = made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    aim_at(made.kit, ibu_of_other_hops(made.kit, aroma))
    made.reserved(10)
    batch = Batch.objects.get()
    assert not batch.allocations.filter(bill_line__role="absorb").exists()
    (line,) = [line for line in batch.sheets.get().content["lines"] if line["role"] == "absorb"]
    assert (line["per_kit"], line["total"], line["lots"]) == (0, 0, [])
    assert batch_check().differences == ()


def test_a_run_that_is_late_takes_no_lot_that_has_expired_since(monkeypatch):
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(2000), alpha=0.08, best_before_on=TODAY)
    run = made.plan(10, pack_on=TODAY - timedelta(days=1))
    monkeypatch.setattr("django.utils.timezone.localdate", lambda: TODAY + timedelta(days=1))
    with expect_refusal("run-short"):
        reserve_run(by=made.by, run=run, expected=run.version)
    monkeypatch.setattr("django.utils.timezone.localdate", lambda: TODAY)
    reserve_run(by=made.by, run=run, expected=run.version)


def test_a_reason_for_cancelling_that_is_too_long_is_refused():
    made = store()
    run = made.reserved(10)
    with expect_refusal("text-too-long"):
        cancel_run(by=made.by, run=run, expected=run.version, reason="x" * 201)
