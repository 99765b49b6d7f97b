"""Writing dispatch zones."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from boxwort.quantities import Measure
from inventory.models import ItemKind
from planning.models import DispatchZone
from planning.queries.zones import zone_rows
from planning.services.zones import begin_zone, write_zone
from tests.make import refused
from tests.planning.make import planner
from tests.recipes.make import item

pytestmark = pytest.mark.django_db
COAST = {"code": "COAST", "name": "Coast", "transit_days": 3, "ship_weekdays": "012"}
WARM = {"warm_from": 515, "warm_until": 915}


def test_a_zone_is_written_changed_and_taken_out_of_use() -> None:
    ice = item("ICE", ItemKind.PACKAGING, Measure.COUNT)
    zone = begin_zone(by=planner(), **COAST, **WARM, ice_item=ice, ice_packs=2)
    write_zone(by=planner(), **{**COAST, **WARM, "transit_days": 4}, expected=zone.version)
    assert History.objects.filter(thing="planning.dispatchzone").count() == 2
    write_zone(by=planner(), **COAST, active=False)
    (row,) = zone_rows()
    assert (row.active, row.season, row.transit_days) == (False, "", 3)
    with refused("zone-code-taken"):
        begin_zone(by=planner(), **COAST)
    with refused("changed-by-someone-else"):
        write_zone(by=planner(), **{**COAST, "name": "Late"}, expected=1)


@pytest.mark.parametrize(
    ("wrong", "code"),
    [
        ({"code": "the coast"}, "code-not-valid"),
        ({"name": " "}, "zone-name-missing"),
        ({"ship_weekdays": ""}, "zone-days-missing"),
        ({"transit_days": 61}, "value-not-possible"),
        ({"temperature_c": 80.0}, "value-not-possible"),
        ({"warm_from": 515}, "zone-season-not-whole"),
        ({"warm_from": 515, "warm_until": 631}, "day-of-year-not-known"),
        ({"ice_packs": 1}, "zone-ice-without-item"),
    ],
)
def test_a_zone_that_no_box_could_travel_to_is_refused(wrong, code) -> None:
    with refused(code):
        write_zone(by=planner(), **{**COAST, **wrong})
    assert not DispatchZone.objects.exists()


def test_ice_is_counted_in_pieces() -> None:
    with refused("ice-not-counted"):
        write_zone(by=planner(), **COAST, ice_item=item("SNOW", ItemKind.MINERAL), ice_packs=1)


def test_the_season_is_told_in_words_in_one_statement(django_assert_num_queries) -> None:
    for code in ("A", "B", "C"):
        write_zone(by=planner(), **{**COAST, **WARM, "code": code})
    with django_assert_num_queries(1):
        assert {row.season for row in zone_rows()} == {"15 May to 15 September"}
