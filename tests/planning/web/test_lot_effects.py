"""What a hop lot does to kits, on the lot's own page and as a page of its own."""

from __future__ import annotations

from django.test import Client
from django.urls import reverse

from boxwort.figures import NO_BREAK
from inventory.models import Lot
from planning.queries.lot_effects import lot_effects
from tests.planning.make import Store
from tests.planning.web.asking import HTMX, text_of


def _lot(code: str = "BITTER-A") -> Lot:
    return Lot.objects.select_related("item__hop").get(code=code)


def test_a_hop_lots_page_fetches_what_it_does_and_another_lots_does_not(
    house: Store, planner: Client
) -> None:
    hop, malt = _lot(), Lot.objects.get(item=house.goods.crystal)
    door = reverse("lot-effects", args=[hop.pk])
    assert f'hx-get="{door}"' in text_of(planner, "lot-detail", hop.pk)
    assert "effects" not in text_of(planner, "lot-detail", malt.pk)


def test_the_weights_are_those_of_the_query(house: Store, planner: Client) -> None:
    lot = _lot()
    (kit,) = lot_effects(lot).kits
    text = text_of(planner, "lot-effects", lot.pk, **HTMX)
    assert "<html" not in text
    for line in kit.lines:
        assert f"{line.after_mg / 1000:.1f}{NO_BREAK}g" in text
    for bitterness in (kit.target_ibu, kit.ibu_unchanged, kit.ibu_corrected):
        assert f"{bitterness:.1f}{NO_BREAK}IBU" in text
    assert reverse("lot-runs", args=[lot.pk]) in text


def test_a_lot_at_a_limit_says_what_to_do(house: Store, planner: Client) -> None:
    weak = house.lot(house.goods.bittering, 2_000_000, code="WEAK", alpha=0.03)
    text = text_of(planner, "lot-effects", weak.pk)
    assert "At a limit" in text
    assert "choose another lot, a blend or an approved substitute" in text


def test_without_kits_it_says_so(house: Store, planner: Client) -> None:
    malt = Lot.objects.get(item=house.goods.crystal)
    assert "No offered kit uses this hop." in text_of(planner, "lot-effects", malt.pk)


def test_a_lot_that_is_not_there_is_not_found(house: Store, planner: Client) -> None:
    assert planner.get(reverse("lot-effects", args=[404])).status_code == 404
