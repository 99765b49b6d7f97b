"""The catalogue: made, changed where it differs, and never changed under stock."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from boxwort.accounts.models import History
from boxwort.quantities import Measure
from inventory.models import HopSpec, Item, ItemKind, Place, PriceBreak, SupplierItem
from inventory.services.catalogue import write_offer, write_place, write_supplier
from tests import make

pytestmark = pytest.mark.django_db


def _offer(pack_quantity=25_000_000, **facts):
    supplier = write_supplier(by=make.user(), code="MALTERS", name="Malters")
    return write_offer(
        by=make.user(),
        supplier=facts.pop("supplier", supplier),
        item=make.item(),
        pack_quantity=pack_quantity,
        **facts,
    )


def test_an_item_is_made_with_its_specification():
    item = make.item("FUG", ItemKind.HOP, allergens=["wheat", "barley"])
    assert (item.version, item.allergens) == (1, ["barley", "wheat"])
    assert HopSpec.objects.get(item=item).planning_alpha == 0.08


def test_an_item_says_how_it_keeps_and_in_what_it_comes():
    item = make.item(
        crushed_days=14,
        opened_days=60,
        work_loss=0.015,
        container_quantity=1_500_000_000,
        malt=replace(make.MALT, family="base_malt"),
    )
    kept = Item.objects.get()
    assert (kept.crushed_days, kept.opened_days, kept.work_loss) == (14, 60, 0.015)
    assert (kept.container_quantity, item.malt.family) == (1_500_000_000, "base_malt")


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"crushed_days": 0}, "life-not-possible"),
        ({"opened_days": -3}, "life-not-possible"),
        ({"work_loss": 0.6}, "value-not-possible"),
        ({"container_quantity": 0}, "quantity-not-positive"),
        ({"malt": replace(make.MALT, family="cheese")}, "entry-not-valid"),
    ],
)
def test_an_item_that_cannot_be_is_refused(facts, code):
    with make.refused(code):
        make.item(**facts)
    assert not Item.objects.exists()


def test_writing_the_same_again_leaves_no_trace():
    _offer(breaks=[(1, 300_000), (10, 280_000)], preferred=True)
    make.item("FUG", ItemKind.HOP)
    make.place()
    before = History.objects.count()
    _offer(breaks=[(10, 280_000), (1, 300_000)], preferred=True)
    make.item("FUG", ItemKind.HOP)
    make.place()
    assert History.objects.count() == before
    assert Item.objects.get(code="FUG").version == 1


def test_a_change_is_told_as_it_was_and_as_it_became():
    make.item(name="Pale malt")
    item = make.item(name="Pale ale malt")
    assert (Item.objects.get().name, item.version) == ("Pale ale malt", 2)
    changed = History.objects.get(action="changed")
    assert (changed.before, changed.after) == ({"name": "Pale malt"}, {"name": "Pale ale malt"})


def test_a_changed_specification_is_told():
    make.item("FUG", ItemKind.HOP)
    make.item("FUG", ItemKind.HOP, hop=replace(make.HOP, planning_alpha=0.09))
    latest = History.objects.filter(action="specified").latest("pk")
    assert latest.before["planning_alpha"] == 0.08
    assert latest.after["planning_alpha"] == 0.09


def test_two_people_change_an_item_and_the_second_is_told():
    make.item()
    make.item(notes="first", expected=1)
    with make.refused("changed-by-someone-else"):
        make.item(notes="second", expected=1)
    with make.refused("changed-by-someone-else"):
        make.item(notes="first", expected=1)


def test_how_an_item_is_kept_is_fixed_once_there_are_lots():
    box = make.item("BOX", ItemKind.PACKAGING)
    make.item("BOX", ItemKind.PACKAGING, measure=Measure.MASS)
    make.item("BOX", ItemKind.PACKAGING, measure=Measure.COUNT)
    make.lot(item=box)
    with make.refused("item-fixed"):
        make.item("BOX", ItemKind.PACKAGING, measure=Measure.MASS)
    with make.refused("item-fixed"):
        make.item("BOX", ItemKind.PRINTED)


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"code": "pale malt"}, "code-not-valid"),
        ({"kind": "metal"}, "word-not-known"),
        ({"measure": "length"}, "word-not-known"),
        ({"measure": Measure.COUNT}, "measure-does-not-fit"),
        ({"overage": 0.6}, "value-not-possible"),
        ({"safety_stock": -1}, "quantity-negative"),
        ({"allergens": ["gluten"]}, "word-not-known"),
        ({"name": ""}, "entry-not-valid"),
        ({"name": "x" * 121}, "entry-not-valid"),
        ({"malt": None}, "specification-does-not-fit"),
        ({"hop": make.HOP}, "specification-does-not-fit"),
        ({"malt": replace(make.MALT, points_l_per_kg=401)}, "value-not-possible"),
        ({"malt": replace(make.MALT, fermentability=float("nan"))}, "value-not-possible"),
    ],
)
def test_an_item_that_cannot_be_is_refused_with_a_remedy(facts, code):
    with make.refused(code) as caught:
        make.item(**facts)
    assert caught.value.remedy
    assert not Item.objects.exists()


def test_an_item_without_a_specification_takes_none():
    with make.refused("specification-does-not-fit"):
        make.item("BOX", ItemKind.PACKAGING, malt=make.MALT)


def test_a_yeast_floor_above_its_target_is_refused():
    with make.refused("entry-not-valid"):
        make.item("ALE", ItemKind.YEAST, yeast=replace(make.LIQUID, floor_share=1.2))


def test_a_place_remembers_how_warm_it_was():
    make.place(temperature_c=5.0)
    store = make.place(temperature_c=12.0, from_on=date(2025, 6, 1))
    assert list(store.temperatures.values_list("from_on", "temperature_c")) == [
        (date(2025, 1, 1), 5.0),
        (date(2025, 6, 1), 12.0),
    ]
    make.place(temperature_c=11.0, from_on=date(2025, 6, 1))
    assert store.temperatures.count() == 2


def test_a_place_of_unknown_warmth_has_no_temperature():
    assert not make.place(temperature_c=None).temperatures.exists()


def test_a_fixed_place_is_not_taken_for_storage():
    with make.refused("place-is-fixed"):
        make.place("WASTE")
    with make.refused("value-not-possible"):
        make.place(temperature_c=80.0)
    assert Place.objects.get(code="WASTE").kind == "waste"


def test_one_offer_of_an_item_is_preferred():
    first = _offer(preferred=True)
    second = _offer(1_000_000, preferred=True)
    assert list(SupplierItem.objects.filter(preferred=True)) == [second]
    assert SupplierItem.objects.get(pk=first.pk).version == 2


def test_prices_are_replaced_as_a_whole():
    offer = _offer(breaks=[(1, 300_000), (10, 280_000)])
    _offer(breaks=[(1, 310_000)])
    assert list(offer.breaks.values_list("from_packs", "pack_price")) == [(1, 310_000)]
    assert PriceBreak.objects.count() == 1


@pytest.mark.parametrize(
    ("facts", "code"),
    [
        ({"pack_quantity": 0}, "quantity-not-positive"),
        ({"minimum_packs": 0}, "quantity-not-positive"),
        ({"breaks": [(0, 100)]}, "price-breaks-not-clear"),
        ({"breaks": [(1, 100), (1, 90)]}, "price-breaks-not-clear"),
        ({"breaks": [(1, -1)]}, "price-negative"),
        ({"lead_days": -1}, "entry-not-valid"),
        ({"supplier_code": "x" * 41}, "entry-not-valid"),
    ],
)
def test_an_offer_that_cannot_be_is_refused(facts, code):
    with make.refused(code):
        _offer(**facts)


def test_a_supplier_with_a_bad_address_is_refused():
    with make.refused("entry-not-valid"):
        write_supplier(by=make.user(), code="MALTERS", name="Malters", email="nowhere")


def test_a_place_needs_a_code_for_labels():
    with make.refused("code-not-valid"):
        write_place(
            by=make.user(), code="cold room", name="Cold", temperature_c=2.0, from_on=make.TODAY
        )
