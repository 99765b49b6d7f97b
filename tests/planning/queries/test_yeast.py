"""Yeast freshness: today, on pitch day, for which runs, and until when.

By the settings of the site a box is three days on the way at 20 C, and then lies at 5 C.
"""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import SiteSettings
from inventory.models import AnalysisKind, LotStatus
from inventory.services.analyses import record_analysis
from planning.queries.yeast import Verdict, yeast_rows
from planning.services.runs import KitsAsked, plan_run
from tests.planning.make import PACK_ON, TODAY, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db
WAY = 3 * 2**1.6  # days in the refrigerator that the way is worth
SHELF = 2**0.1  # and one on the customer's shelf


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
    assert row.living == pytest.approx(1 - 0.007 * (7 + WAY + 87 * SHELF))


def test_below_the_floor_a_lot_is_refused_with_the_reason():
    made = store()
    yeast_lot(made)
    made.plan(10)
    row = only_run()
    assert row.pitched < 0.5
    assert row.verdict is Verdict.REFUSED
    assert "below the floor of 50\N{NO-BREAK SPACE}%" in row.advice


def test_below_target_a_starter_or_more_packs_are_advised():
    made = store()
    type(made.kit).objects.update(shelf_days=30)
    yeast_lot(made)
    made.plan(10)
    row = only_run()
    assert row.verdict is Verdict.BELOW_TARGET
    assert row.packs_to_target == 3
    missing = (1.0 - row.pitched) * the_kit(made).exact * 100
    assert row.starter is not None
    assert row.starter.value == pytest.approx(missing / 50)
    assert row.advice.endswith(
        f"advise a starter of 1.5 L for the {missing:.0f}\N{NO-BREAK SPACE}billion cells missing, "
        "or pack 3 instead of 2."
    )


def test_a_starter_is_as_large_as_the_house_says():
    made = store()
    type(made.kit).objects.update(shelf_days=30)
    SiteSettings.objects.update(starter_billion_per_l=200.0)
    yeast_lot(made)
    made.plan(10)
    assert "a starter of 0.5 L" in only_run().advice


def test_of_dry_yeast_no_starter_is_advised():
    made = store()
    lot = made.lot(made.goods.dry_ale_yeast, 50)
    record_analysis(by=made.by, lot=lot, kind=AnalysisKind.VIABILITY, sampled_on=TODAY, value=0.7)
    asked = KitsAsked(kit=made.kit, kits=5, yeast=made.goods.dry_ale_yeast)
    plan_run(by=planner(), pack_on=PACK_ON, lines=[asked])
    row = only_run()
    assert (row.verdict, row.starter) == (Verdict.BELOW_TARGET, None)
    assert "starter" not in row.advice


def test_a_kit_may_have_a_target_and_a_floor_of_its_own():
    made = store()
    yeast_lot(made)
    made.plan(10)
    assert only_run().verdict is Verdict.REFUSED
    given = only_run().pitched
    type(made.kit).objects.update(target_share=given + 0.01, floor_share=given - 0.01)
    row = only_run()
    assert row.verdict is Verdict.BELOW_TARGET
    assert (row.target, row.floor) == (given + 0.01, given - 0.01)
    type(made.kit).objects.update(target_share=given)
    assert only_run().verdict is Verdict.SERVES


def test_a_slow_way_kills():
    made = store()
    yeast_lot(made)
    made.plan(10)
    before = only_run().living
    SiteSettings.objects.update(transit_days=10)
    assert only_run().living == pytest.approx(before - 0.007 * 7 * (2**1.6 - SHELF))


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

    def given(day):
        return option.packed * (1 - 0.007 * (WAY + (day - 3) * SHELF)) / option.exact

    assert given(days) >= 0.5 > given(days + 1)
    assert kit.full_until < kit.serves_until
    assert kit.pack_until is None


def test_the_kit_must_be_packed_its_shelf_allowance_before_that_day():
    made = store()
    type(made.kit).objects.update(shelf_days=20)
    yeast_lot(made)
    (kit,) = yeast_rows(TODAY)[0].kits
    assert kit.pack_until == kit.serves_until - timedelta(days=20)
    option = the_kit(made)
    lain = (kit.pack_until - TODAY).days

    def given(stored):
        return option.packed * (1 - 0.007 * (stored + WAY + 17 * SHELF)) / option.exact

    assert given(lain) >= 0.5 > given(lain + 1)


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
    assert len(asked) == 9
