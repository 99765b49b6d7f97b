"""Best-before of batches: the first thing in the box that fails dates the kit."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.utils import timezone

from boxwort.accounts.models import SiteSettings
from inventory.models import HopSpec, Item, Lot
from inventory.queries.hops import hop_alphas
from planning.models import Allocation, Batch
from planning.queries.best_before import best_before_of
from planning.queries.runs import run_detail
from planning.queries.supply import house
from planning.services.packing import start_packing
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit, Part
from tests.planning.make import PACK_ON, TODAY, aim_at, pack, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    HopSpec.objects.update(lost_in_six_months=0.0)  # so that only what a test ages is aged
    Lot.objects.update(best_before_on=None)
    return made


def dated(on=PACK_ON):
    batch = Batch.objects.get()
    return best_before_of([batch.pk], on)[batch.pk]


def crystal(made):
    return Lot.objects.filter(item=made.goods.crystal)


def packed_yeast_kit(made):
    """Put a kit with its yeast in the box in place of the usual one."""
    revision = offered(pale_ale(made.goods, "WITH-YEAST"))
    made.kit = offered_kit(revision, "KIT-YEAST", made.goods, yeast_part=Part.PACKED, shelf_days=10)


def test_a_box_of_things_that_keep_has_no_day(made):
    made.reserved()
    assert dated().day is None


def test_a_lots_own_date_is_the_kits(made):
    made.reserved()
    crystal(made).update(best_before_on=PACK_ON + timedelta(days=50))
    found = dated()
    assert found.day == PACK_ON + timedelta(days=50)
    assert (found.set_by.reason, "Crystal" in found.set_by.name) == ("best before", True)


@pytest.mark.parametrize(
    ("life", "started", "reason"),
    [
        ("crushed_days", "crushed_on", "crushed life"),
        ("opened_days", "opened_on", "opened life"),
        ("shelf_days", "packaged_on", "shelf life"),
    ],
)
def test_crushed_opened_and_shelf_life_run_from_their_day(made, life, started, reason):
    made.reserved()
    Item.objects.filter(pk=made.goods.crystal.pk).update(**{life: 60})
    crystal(made).update(**{started: TODAY})
    found = dated()
    assert found.day == TODAY + timedelta(days=60)
    assert found.set_by.reason == reason


def test_a_life_that_was_over_dates_no_box_before_it_was_packed(made):
    made.reserved()
    Item.objects.filter(pk=made.goods.crystal.pk).update(opened_days=3)
    crystal(made).update(opened_on=TODAY)
    found = dated()
    assert found.day == PACK_ON
    assert found.set_by.reason == "opened life, over on the pack day"


def test_the_kits_own_life_counts_from_the_day_it_is_packed(made):
    made.reserved()
    Item.objects.filter(pk=made.kit.item_id).update(shelf_days=200)
    assert dated(TODAY).day == TODAY + timedelta(days=200)
    assert dated().set_by.name == "The kit"


def ibu(on):
    """Return what the box gives when it is brewed on a day."""
    rows = Allocation.objects.filter(bill_line__ibu_per_gram__gt=0).select_related("bill_line")
    alphas = hop_alphas(
        [row.lot_id for row in rows], pack_on=PACK_ON, brew_on=on, pouch=house().pouch
    )
    return sum(
        row.per_kit / 1000 * row.bill_line.ibu_per_gram * alphas[row.lot_id].alpha for row in rows
    )


def test_hops_hold_while_the_bitterness_is_within_a_tenth_of_the_target(made):
    made.reserved()
    HopSpec.objects.update(lost_in_six_months=0.6)
    aim_at(made.kit, ibu(PACK_ON))
    found = dated()
    assert found.set_by.name == "Hops"
    assert ibu(found.day) >= 0.9 * ibu(PACK_ON) > ibu(found.day + timedelta(days=1))


def test_a_form_that_gives_less_bitterness_holds_for_a_shorter_time(made):
    made.reserved()
    HopSpec.objects.update(lost_in_six_months=0.6)
    aim_at(made.kit, ibu(PACK_ON))
    before = dated().day
    Lot.objects.filter(item=made.goods.bittering).update(form="cone")
    SiteSettings.objects.update(form_factor_cone=0.97)
    assert PACK_ON < dated().day < before


def test_packed_yeast_holds_until_it_pitches_no_more_than_the_floor(made):
    packed_yeast_kit(made)
    made.lot(made.goods.ale_yeast, 30, packaged_on=TODAY, received_on=TODAY, best_before_on=None)
    made.reserved()
    found = dated()
    assert found.set_by.reason == "floor pitch"
    option = made.kit.bill.get(item=made.goods.ale_yeast)

    def given(day):
        shelf = (day - PACK_ON).days - 3
        lived = 1 - 0.007 * (7 + 3 * 2**1.6 + shelf * 2**0.1)
        return option.packed * lived / option.exact

    assert given(found.day) >= 0.5 > given(found.day + timedelta(days=1))


def test_a_slower_way_to_the_customer_shortens_the_life_of_packed_yeast(made):
    packed_yeast_kit(made)
    made.lot(made.goods.ale_yeast, 30, packaged_on=TODAY, received_on=TODAY, best_before_on=None)
    made.reserved()
    before = dated().day
    SiteSettings.objects.update(transit_days=10)
    assert dated().day < before


def test_yeast_added_at_dispatch_is_dated_on_its_own(made):
    made.lot(made.goods.ale_yeast, 30, packaged_on=TODAY, received_on=TODAY, best_before_on=None)
    made.reserved()
    assert dated().day is None


def test_the_kits_are_dated_by_it_when_they_are_packed_and_the_sheet_says_it(made):
    good_until = timezone.localdate() + timedelta(days=50)
    crystal(made).update(best_before_on=good_until)
    run = made.reserved()
    batch = Batch.objects.select_related("run_line__run", "run_line__kit__item").get()
    sheet = batch.sheets.get().content["best_before"]
    assert sheet["on"] == good_until.isoformat()
    assert sheet["set_by"].endswith(": best before")
    start_packing(by=made.by, run=run, expected=run.version)
    batch.refresh_from_db()
    assert pack(made, batch).best_before_on == good_until
    (row,) = run_detail(run.pk).batches
    assert row.best_before_on == row.best_before.day == good_until


@pytest.mark.parametrize("batches", [2, 8])
def test_dating_takes_as_many_statements_for_two_batches_as_for_eight(made, batches):
    packed_yeast_kit(made)
    made.lot(made.goods.ale_yeast, 60, packaged_on=TODAY, received_on=TODAY)
    Kit.objects.update(shelf_days=5)
    for number in range(batches):
        asked = KitsAsked(kit=made.kit, kits=2)
        pack_on = PACK_ON + timedelta(days=number)
        run = plan_run(by=planner(), pack_on=pack_on, lines=[asked])
        reserve_run(by=planner(), run=run, expected=run.version)
    ids = list(Batch.objects.values_list("pk", flat=True))
    with CaptureQueriesContext(connection) as asked:
        assert len(best_before_of(ids)) == batches
    assert len(asked) == 14
