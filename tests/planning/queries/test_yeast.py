"""Yeast freshness: today, on pitch day, for which runs, and until when."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from inventory.models import LotStatus
from planning.queries.yeast import Verdict, yeast_rows
from planning.services.runs import KitsAsked, plan_run
from tests.planning.make import PACK_ON, TODAY, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


def yeast_lot(made, packs=40, days_old=0, **facts):
    packaged_on = TODAY - timedelta(days=days_old)
    known = {"packaged_on": packaged_on, "received_on": TODAY} | facts
    return made.lot(made.goods.ale_yeast, packs, **known)


def the_kit(made):
    return made.kit.bill.get(is_yeast_option=True, item=made.goods.ale_yeast)


def only_run(on=TODAY):
    (row,) = yeast_rows(on)
    (run,) = row.runs
    return run


def test_a_liquid_lot_loses_seven_in_a_thousand_a_day_and_shows_its_working():
    made = store()
    yeast_lot(made, days_old=30)
    (row,) = yeast_rows(TODAY)
    assert row.living == pytest.approx(0.79)
    assert row.working.value == pytest.approx(79.0)


def test_pitch_day_is_pack_day_and_the_kits_shelf_allowance():
    made = store()
    yeast_lot(made)
    run = made.plan(10)
    row = only_run()
    assert (row.run_code, row.pack_on, row.pitch_on) == (
        run.code, PACK_ON, PACK_ON + timedelta(days=90),
    )  # fmt: skip
    assert row.living == pytest.approx(1 - 0.007 * 97)


def test_below_the_floor_a_lot_is_refused_with_the_reason():
    made = store()
    yeast_lot(made)
    made.plan(10)
    row = only_run()
    assert row.pitched < 0.5
    assert row.verdict is Verdict.REFUSED
    assert "below the floor of 50%" in row.advice


def test_below_target_a_starter_or_more_packs_are_advised():
    made = store()
    type(made.kit).objects.update(shelf_days=30)
    yeast_lot(made)
    made.plan(10)
    row = only_run()
    assert row.verdict is Verdict.BELOW_TARGET
    assert row.packs_to_target == 3
    assert row.advice.endswith("advise a starter, or pack 3 instead of 2.")


def test_a_fresh_lot_serves_with_the_packs_on_the_bill():
    made = store()
    type(made.kit).objects.update(shelf_days=0)
    yeast_lot(made, packs=20)
    made.plan(10, TODAY)
    row = only_run()
    assert (row.verdict, row.advice, row.packs_to_target, row.enough) == (
        Verdict.SERVES, "", row.packs, True,
    )  # fmt: skip
    assert row.working.value == pytest.approx(row.pitched * 100)


def test_a_lot_too_small_for_the_run_says_so():
    made = store()
    type(made.kit).objects.update(shelf_days=0)
    yeast_lot(made, packs=19)
    made.plan(10, TODAY)
    assert not only_run().enough


@pytest.mark.parametrize(
    ("facts", "reason"),
    [
        ({"status": LotStatus.QUARANTINE}, "The lot is in quarantine."),
        ({"best_before_on": PACK_ON - timedelta(days=1)}, "before the run is packed"),
    ],
)
def test_a_lot_that_may_not_be_used_is_refused_however_fresh(facts, reason):
    made = store()
    type(made.kit).objects.update(shelf_days=0)
    yeast_lot(made, **facts)
    made.plan(10)
    row = only_run()
    assert row.verdict is Verdict.REFUSED
    assert reason in row.advice


def test_the_last_day_a_lot_serves_a_kit_is_the_last_above_the_floor():
    made = store()
    yeast_lot(made)
    (row,) = yeast_rows(TODAY)
    (kit,) = row.kits
    option = the_kit(made)
    days = (kit.serves_until - TODAY).days
    assert option.packed * (1 - 0.007 * days) / option.exact >= 0.5
    assert option.packed * (1 - 0.007 * (days + 1)) / option.exact < 0.5
    assert kit.full_until < kit.serves_until
    assert kit.pack_until is None


def test_the_kit_must_be_packed_its_shelf_allowance_before_that_day():
    made = store()
    type(made.kit).objects.update(shelf_days=20)
    yeast_lot(made)
    (kit,) = yeast_rows(TODAY)[0].kits
    assert kit.pack_until == kit.serves_until - timedelta(days=20)


def test_a_dry_lot_ages_by_the_warmth_of_its_place():
    made = store()
    lot = made.lot(
        made.goods.dry_ale_yeast, 50, packaged_on=TODAY - timedelta(days=365),
        received_on=TODAY - timedelta(days=365),
    )  # fmt: skip
    (row,) = yeast_rows(TODAY)
    assert (row.code, row.form) == (lot.code, "dry")
    assert row.living == pytest.approx(0.955, abs=0.001)


def test_a_run_is_judged_for_the_yeast_it_chose():
    made = store()
    yeast_lot(made)
    made.lot(made.goods.dry_ale_yeast, 50)
    asked = KitsAsked(kit=made.kit, kits=5, yeast=made.goods.dry_ale_yeast)
    plan_run(by=planner(), pack_on=PACK_ON, lines=[asked])
    assert {row.item_code: len(row.runs) for row in yeast_rows(TODAY)} == {"ALE": 0, "DRY-ALE": 1}


@pytest.mark.parametrize("lots", [3, 30])
def test_freshness_takes_as_many_statements_for_three_lots_as_for_thirty(lots):
    made = store()
    for number in range(lots):
        yeast_lot(made, code=f"Y-{number}", days_old=number)
    kit = offered_kit(offered(pale_ale(made.goods, "OTHER")), "KIT-OTHER", made.goods)
    for number in range(lots // 3):
        made.kit = kit if number % 2 else made.kit
        made.plan(5, PACK_ON + timedelta(days=number))
    with CaptureQueriesContext(connection) as asked:
        yeast_rows(TODAY)
    assert len(asked) == 7
