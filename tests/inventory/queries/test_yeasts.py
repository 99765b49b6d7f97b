"""Yeast on its way: in our store, in transit, on the customer's shelf."""

from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.accounts.models import SiteSettings
from inventory.models import AnalysisKind, ItemKind
from inventory.queries.yeasts import Journey, journey, yeast_lives
from inventory.services.analyses import record_analysis
from tests import make

pytestmark = pytest.mark.django_db

PACK_ON = make.RECEIVED_ON + timedelta(days=10)
PITCH_ON = PACK_ON + timedelta(days=30)
WAY = Journey(transit_days=3, transit_temperature_c=24.0, shelf_temperature_c=14.0)


def yeast_lot(code: str = "Y-1", celsius: float | None = 4.0, facts=make.LIQUID, **dates):
    item = make.item("ALE", ItemKind.YEAST, yeast=facts)
    known = {"packaged_on": make.RECEIVED_ON} | dates
    return make.lot(code, item=item, place=make.place(f"P-{code}", celsius), **known)


def pitched(lot, pack_on=PACK_ON, pitch_on=PITCH_ON, way=WAY):
    return yeast_lives([lot.pk]).pitched_on(lot.pk, pack_on, pitch_on, way)


def parts(found):
    return {part.name: part.value for part in found.working.parts}


def test_every_part_of_the_way_has_its_days_at_its_own_temperature():
    found = pitched(yeast_lot())
    assert parts(found) == {"Storage": 10.0, "Transit": 12.0, "Customer's shelf": 54.0}
    assert found.share == pytest.approx(1 - 0.007 * 76)


def test_dry_yeast_goes_the_same_way():
    found = pitched(yeast_lot(facts=make.DRY))
    assert list(parts(found)) == ["Storage", "Transit", "Customer's shelf"]
    assert found.share < pitched(yeast_lot("Y-2", facts=make.DRY), pitch_on=PACK_ON).share


def test_a_box_that_is_brewed_on_the_way_is_in_transit_to_the_end():
    found = pitched(yeast_lot(), pitch_on=PACK_ON + timedelta(days=2))
    assert parts(found) == {"Storage": 10.0, "Transit": 8.0}


def test_a_lot_that_is_pitched_where_it_lies_does_not_travel():
    lot = yeast_lot()
    assert (
        pitched(lot, pitch_on=PACK_ON).working == yeast_lives([lot.pk]).on(lot.pk, PACK_ON).working
    )


def test_a_warm_store_costs_a_liquid_yeast():
    assert parts(pitched(yeast_lot(celsius=24.0)))["Storage"] == 40.0


def test_before_it_reached_us_a_liquid_pack_was_refrigerated_and_that_is_said():
    found = pitched(yeast_lot(packaged_on=make.RECEIVED_ON - timedelta(days=20)))
    assert parts(found)["Before it reached us"] == 20.0
    assert any("taken as refrigerated" in note for note in found.working.notes)


def test_a_place_of_unknown_warmth_counts_as_a_room_and_that_is_said():
    found = pitched(yeast_lot(celsius=None))
    assert parts(found)["Storage"] == pytest.approx(10 * 2**1.6)
    assert any("not known for 10 days" in note for note in found.working.notes)


def test_a_place_too_hot_for_the_rule_is_capped_and_that_is_said():
    found = pitched(yeast_lot(celsius=44.0))
    assert parts(found)["Storage"] == pytest.approx(10 * 2**3.6)
    assert any("hotter than 40 C count" in note for note in found.working.notes)


def test_a_count_after_the_pack_day_starts_the_way_on_its_own_day():
    lot = yeast_lot()
    counted_on = PACK_ON + timedelta(days=5)
    record_analysis(
        by=make.user(), lot=lot, kind=AnalysisKind.VIABILITY, sampled_on=counted_on, value=0.8
    )
    found = pitched(lot)
    assert parts(found) == {"Transit": 12.0, "Customer's shelf": 44.0}
    assert found.share == pytest.approx(0.8 - 0.007 * 56)


def test_a_lot_that_goes_on_from_another_has_lain_where_that_one_lay():
    first = yeast_lot("Y-WARM", celsius=14.0)
    second = yeast_lot("Y-COLD", received_on=make.RECEIVED_ON + timedelta(days=6))
    type(second).objects.filter(pk=second.pk).update(from_lot=first)
    assert pitched(second).working.parts[0].value == 12.0
    assert pitched(second).working.parts[1].value == 4.0


def test_the_site_says_how_a_box_travels():
    SiteSettings.objects.update(
        transit_days=7, transit_temperature_c=28.0, yeast_shelf_temperature_c=8.0
    )
    assert journey(SiteSettings.objects.get()) == Journey(
        transit_days=7, transit_temperature_c=28.0, shelf_temperature_c=8.0
    )


def test_a_longer_journey_never_leaves_more_alive():
    lot = yeast_lot()
    shares = [
        pitched(lot, pitch_on=PACK_ON + timedelta(days=days)).share for days in range(0, 60, 3)
    ]
    assert shares == sorted(shares, reverse=True)
    slower = Journey(transit_days=9, transit_temperature_c=24.0, shelf_temperature_c=14.0)
    assert pitched(lot, way=slower).share < pitched(lot).share
