"""Zones at their pages."""

from __future__ import annotations

from django.test import Client

from boxwort.quantities import Measure
from inventory.models import ItemKind
from planning.models import DispatchZone
from tests.planning.web.asking import send, text_of
from tests.recipes.make import item

TYPED = {
    "code": "coast",
    "name": "Coast",
    "transit_days": "3",
    "ship_weekdays": ["0", "2"],
    "temperature_c": "12",
    "warm_temperature_c": "22",
    "warm_from": "15 May",
    "warm_until": "15 Sept",
    "ice_packs": "2",
}


def test_a_zone_is_added_shown_changed_and_taken_out_of_use(planner: Client) -> None:
    assert "No zone is written down" in text_of(planner, "zone-list")
    ice = item("ICE", ItemKind.PACKAGING, Measure.COUNT)
    assert send(planner, "zone-new", form={**TYPED, "ice_item": ice.pk}).status_code == 303
    text = text_of(planner, "zone-list")
    for words in ("COAST", "15 May to 15 September", "15 May", "3 days"):
        assert words in text, words
    zone = DispatchZone.objects.get()
    assert (zone.ship_weekdays, zone.warm_from, zone.warm_until) == ("02", 515, 915)
    assert 'value="15 September"' in text_of(planner, "zone-change", zone.pk)
    changed = {**TYPED, "ice_packs": "", "version": zone.version}
    send(planner, "zone-change", zone.pk, form=changed)
    zone.refresh_from_db()
    assert (zone.active, zone.ice_packs, zone.ice_item) == (False, 0, None)


def test_what_no_zone_can_be_is_shown_again_beside_the_box(planner: Client) -> None:
    answer = send(planner, "zone-new", form={**TYPED, "ship_weekdays": [], "warm_from": "soon"})
    text = answer.content.decode()
    assert answer.status_code == 422
    assert "Tick at least one weekday" in text
    assert "such as 15 May" in text
    answer = send(planner, "zone-new", form=TYPED)
    assert answer.status_code == 422
    assert "ice packs, and nothing says which" in answer.content.decode()


def test_zones_are_read_by_all_and_written_by_who_takes_orders(packer: Client) -> None:
    assert "A new zone" not in text_of(packer, "zone-list")
    assert send(packer, "zone-new", form=TYPED).status_code == 403
