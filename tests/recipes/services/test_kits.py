"""Kits: written, offered, and then as they were offered."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from boxwort.accounts.models import History, SiteSettings
from boxwort.errors import Refusal
from boxwort.quantities import UL_PER_L, Measure
from inventory.models import ItemKind, MaltSpec
from inventory.models.guards import drop_guards, install_guards
from recipes.brewing.roles import HopRole, MethodKind
from recipes.models import Kit, KitBillLine, Part
from recipes.queries.bills import BillRow, bill_of
from recipes.queries.figures import kept_figures
from recipes.services.kits import PartFacts, offer_kit
from recipes.services.offering import retire_revision
from tests.recipes import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods():
    return make.catalogue()


@pytest.fixture
def pale(goods):
    return make.offered(make.pale_ale(goods))


def _ibu(row: BillRow, grams: float) -> float:
    return grams * (row.reference_alpha or 0.0) * (row.ibu_per_gram or 0.0)


def _bill(kit: Kit) -> dict[str, BillRow]:
    return {row.key: row for row in bill_of(kit.pk)}


def test_an_offered_kit_has_a_bill_with_a_name_for_every_row(pale, goods):
    bill = _bill(make.offered_kit(pale, "PALE-20", goods))
    assert {key: row.item_code for key, row in bill.items()} == {
        "malt-1": "EXTRACT",
        "malt-2": "CRYSTAL",
        "hop-1": "BITTER",
        "hop-2": "AROMA",
        "hop-3": "AROMA",
        "mineral-1": "GYPSUM",
        "yeast-1": "ALE",
        "yeast-2": "DRY-ALE",
        "pack-1": "BOX",
    }
    assert [row.position for row in bill.values()] == list(range(1, 10))


def test_a_kit_may_have_a_pitch_target_and_floor_of_its_own_and_change_them_when_offered(
    pale, goods
):
    kit = make.offered_kit(pale, "PALE-20", goods)
    assert {row.pitch_floor for row in bill_of(kit.pk)} == {None}
    make.kit(pale, "PALE-20", goods, target_share=0.9, floor_share=0.6)
    assert {(row.pitch_target, row.pitch_floor) for row in bill_of(kit.pk)} == {(0.9, 0.6)}


@pytest.mark.parametrize(
    "pitch",
    [
        {"target_share": 0.9},
        {"floor_share": 0.5},
        {"target_share": 0.5, "floor_share": 0.6},
        {"target_share": 0.5, "floor_share": 0.0},
        {"target_share": 6.0, "floor_share": 0.5},
    ],
)
def test_a_pitch_no_kit_could_mean_is_refused(pale, goods, pitch):
    with pytest.raises(Refusal) as refused:
        make.kit(pale, "PALE-20", goods, **pitch)
    assert refused.value.code == "pitch-impossible"


@pytest.mark.parametrize(
    "pitch", [{"target_share": 0.9}, {"target_share": 0.5, "floor_share": 0.6}]
)
def test_the_database_holds_the_floor_below_the_target(pale, goods, pitch):
    kit = make.kit(pale, "PALE-20", goods)
    with pytest.raises(IntegrityError), transaction.atomic():
        Kit.objects.filter(pk=kit.pk).update(**pitch)


def test_the_target_is_the_unrounded_bitterness_with_held_weights_as_packed(pale, goods):
    kit = make.offered_kit(pale, "PALE-20", goods)
    bill = _bill(kit)
    absorbing, held = bill["hop-1"], bill["hop-2"]
    # 36.3 g is not on the 0.5 g step and counts as it is; 20.2 g was settled as 20 g
    by_hand = _ibu(absorbing, 36.3) + _ibu(held, 20.0)
    assert kit.target_ibu == pytest.approx(by_hand)
    assert kept_figures(kit.figures).ibu.value == kit.target_ibu


def test_a_kit_of_half_the_size_has_the_same_beer(pale, goods):
    whole = make.offered_kit(pale, "PALE-20", goods)
    half = make.offered_kit(pale, "PALE-10", goods, volume=10 * UL_PER_L)
    for name in ("og", "fg", "abv", "ibu", "srm"):
        assert half.figures[name]["value"] == pytest.approx(whole.figures[name]["value"])
    assert _bill(half)["malt-1"].exact == pytest.approx(_bill(whole)["malt-1"].exact / 2)


def test_a_held_hop_leaves_the_step_when_scaled_and_the_target_takes_it_as_packed(pale, goods):
    # 20 g and 36.3 g for 20 L are 5.25 g and 9.52875 g for 5.25 L
    kit = make.offered_kit(pale, "PALE-5", goods, volume=5_250_000)
    absorbing, held = _bill(kit)["hop-1"], _bill(kit)["hop-2"]
    assert (round(held.exact), held.packed) == (5250, 5500)
    assert absorbing.exact == pytest.approx(9528.75)
    by_hand = _ibu(absorbing, 9.52875) + _ibu(held, 5.5)
    assert kit.target_ibu == pytest.approx(by_hand)


def test_each_hop_row_says_what_balancing_needs(pale, goods):
    bill = _bill(make.offered_kit(pale, "PALE-20", goods))
    assert (bill["hop-1"].role, bill["hop-1"].reference_alpha) == (HopRole.ABSORB, 0.08)
    assert bill["hop-2"].role == bill["hop-3"].role == HopRole.HOLD_WEIGHT
    assert bill["hop-3"].ibu_per_gram == 0.0  # dry hop
    assert bill["malt-1"].ibu_per_gram is None
    assert bill["hop-1"].overage == 0.02


def test_each_rounding_has_its_reason(pale, goods):
    SiteSettings.objects.update(scale_division_mg=100)
    bill = _bill(make.offered_kit(pale, "PALE-20", goods))
    assert (bill["hop-1"].packed, bill["mineral-1"].packed) == (36_500, 4_300)
    assert bill["hop-1"].reason == (
        "36.3 g packed as 36.5 g: the pouch scale goes in steps of 0.5 g"
    )
    assert bill["mineral-1"].reason == "4.26 g packed as 4.3 g: the scale goes in steps of 0.1 g"
    assert bill["malt-1"].reason == ""


def test_yeast_is_pitched_by_cells_or_grams_and_rounded_up_to_packs(pale, goods):
    # OG 1.05166 is 12.78 P: 0.75e6 * 20000 mL * 12.78 = 192e9 cells; 50 g/hL * 20 L = 10 g
    bill = _bill(make.offered_kit(pale, "PALE-20", goods, yeast_part=Part.DISPATCH))
    liquid, dry = bill["yeast-1"], bill["yeast-2"]
    assert (liquid.packed, dry.packed) == (2, 1)
    assert liquid.exact == pytest.approx(1.917, abs=0.001)
    assert liquid.reason == "192 billion cells wanted, 100 billion in a fresh pack: 2 whole"
    assert dry.reason == "10.0 g wanted, 11 g in a pack: 1 whole"
    assert {liquid.part, dry.part} == {"dispatch"}
    assert all(row.is_yeast_option for row in (liquid, dry))


def test_a_kit_designed_after_the_catalogue_changed_is_that_of_its_revision(pale, goods):
    before = make.offered_kit(pale, "PALE-20", goods)
    MaltSpec.objects.update(points_l_per_kg=200.0)
    after = make.offered_kit(pale, "PALE-20B", goods)
    assert after.figures == before.figures
    assert after.target_ibu == before.target_ibu


def test_only_a_kit_of_an_offered_revision_is_offered(goods):
    draft = make.pale_ale(goods)
    kit = make.kit(draft, "PALE-20", goods)
    by = make.developer()
    with pytest.raises(Refusal) as refused:
        offer_kit(by=by, kit=kit, expected=kit.version)
    assert refused.value.code == "revision-not-offered"
    make.offered(draft)
    retire_revision(by=by, revision=draft, expected=draft.version)
    with pytest.raises(Refusal):
        offer_kit(by=by, kit=Kit.objects.get(), expected=kit.version)


def test_a_kit_is_offered_once(pale, goods):
    kit = make.offered_kit(pale, "PALE-20", goods)
    with pytest.raises(Refusal) as refused:
        offer_kit(by=make.developer(), kit=kit, expected=kit.version)
    assert refused.value.code == "kit-offered"


@pytest.mark.parametrize(
    "change",
    [
        {"volume": 10 * UL_PER_L},
        {"kind": MethodKind.ALL_GRAIN},
        {"parts": []},
        {"yeast_part": Part.PACKED},
    ],
)
def test_nothing_that_moves_the_bill_of_an_offered_kit_changes(pale, goods, change):
    make.offered_kit(pale, "PALE-20", goods)
    with pytest.raises(Refusal) as refused:
        make.kit(pale, "PALE-20", goods, **change)
    assert refused.value.code == "kit-offered"


def test_the_price_of_an_offered_kit_may_change(pale, goods):
    make.offered_kit(pale, "PALE-20", goods)
    make.kit(pale, "PALE-20", goods, price=500_000)
    assert Kit.objects.get().price == 500_000


def test_the_database_keeps_a_frozen_bill(pale, goods):
    kit = make.offered_kit(pale, "PALE-20", goods)
    install_guards("default")
    try:
        for act in (lambda rows: rows.update(packed=1), lambda rows: rows.delete()):
            with pytest.raises(IntegrityError), transaction.atomic():
                act(KitBillLine.objects.filter(kit=kit))
    finally:
        drop_guards("default")


def test_writing_the_same_kit_again_changes_nothing(pale, goods):
    first = make.kit(pale, "PALE-20", goods)
    again = make.kit(pale, "PALE-20", goods)
    assert (again.pk, again.version) == (first.pk, 1)
    assert History.objects.filter(thing="recipes.kit").count() == 1


def test_the_parts_of_a_draft_kit_are_rewritten(pale, goods):
    make.kit(pale, "PALE-20", goods)
    label = make.item("LABEL", ItemKind.PRINTED, Measure.COUNT)
    parts = [PartFacts(item=goods.box, quantity=1), PartFacts(item=label, quantity=3)]
    kit = make.kit(pale, "PALE-20", goods, parts=parts)
    assert kit.version == 2
    assert list(kit.parts.values_list("item__code", "quantity")) == [("BOX", 1), ("LABEL", 3)]


def test_a_kit_is_sold_as_an_item_of_its_kind_with_a_volume_and_whole_parts(pale, goods):
    make.malt("LOOSE", ItemKind.SUGAR, points=380.0)
    itself = make.item("PALE-9", ItemKind.KIT, Measure.COUNT)
    for code, wrong, refusal in (
        ("LOOSE", {}, "not-a-kit"),
        ("PALE-20", {"volume": 0}, "volume-missing"),
        ("PALE-20", {"parts": [PartFacts(item=goods.box, quantity=0)]}, "part-impossible"),
        ("PALE-20", {"parts": [PartFacts(item=goods.box, quantity=1)] * 2}, "part-impossible"),
        ("PALE-9", {"parts": [PartFacts(item=itself, quantity=1)]}, "part-impossible"),
    ):
        with pytest.raises(Refusal) as refused:
            make.kit(pale, code, goods, **wrong)
        assert refused.value.code == refusal
