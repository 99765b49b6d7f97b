"""Kits within kits: hop packs with the hops alone, kits whose hops come in one, and sets."""

from __future__ import annotations

from typing import Any

import pytest

from boxwort.errors import Refusal
from boxwort.quantities import UL_PER_L, Measure
from inventory.models import ItemKind
from recipes.brewing.roles import MethodKind
from recipes.models import Contents, Kit, Part
from recipes.queries.bills import bill_of
from recipes.queries.kits import kit_allergens, kit_detail
from recipes.services.kits import PartFacts, offer_kit
from tests.recipes import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods():
    return make.catalogue()


@pytest.fixture
def pale(goods):
    return make.offered(make.pale_ale(goods))


def pouch() -> PartFacts:
    return PartFacts(item=make.item("POUCH", ItemKind.PACKAGING, Measure.COUNT), quantity=1)


def hop_pack(pale: Any, goods: Any, **values: Any) -> Kit:
    return make.kit(pale, "HOPS", goods, contents=Contents.HOP_PACK, parts=[pouch()], **values)


def offered(kit: Kit) -> Kit:
    return offer_kit(by=make.developer(), kit=kit, expected=kit.version)


def holding(pale: Any, goods: Any, *held: Kit, part: Part = Part.PACKED, **values: Any) -> Kit:
    parts = [PartFacts(item=goods.box, quantity=1)]
    parts += [PartFacts(item=kit.item, quantity=1, part=part) for kit in held]
    return make.kit(pale, "WITH-PACK", goods, parts=parts, **values)


def test_a_hop_pack_holds_the_hops_of_the_kit_and_its_own_pouch(pale, goods) -> None:
    whole = make.offered_kit(pale, "PALE-20", goods)
    pack = offered(hop_pack(pale, goods))
    hops = [row for row in bill_of(whole.pk) if row.role]
    rows = bill_of(pack.pk)
    assert [row.item_code for row in rows] == ["BITTER", "AROMA", "AROMA", "POUCH"]
    for row, same in zip(rows, hops, strict=False):
        assert (row.role, row.packed, row.overage) == (same.role, same.packed, same.overage)
        assert (row.reference_alpha, row.ibu_per_gram) == (same.reference_alpha, same.ibu_per_gram)
    assert pack.target_ibu == whole.target_ibu


@pytest.mark.parametrize("part", Part)
def test_a_kit_with_a_hop_pack_has_no_hops_of_its_own_and_the_same_beer(pale, goods, part) -> None:
    whole = make.offered_kit(pale, "PALE-20", goods)
    kit = offered(holding(pale, goods, offered(hop_pack(pale, goods)), part=part))
    rows = bill_of(kit.pk)
    assert not any(row.role for row in rows)
    pack = next(row for row in rows if row.item_code == "HOPS")
    assert (pack.key, pack.packed, pack.part) == ("kit-1", 1, part)
    assert (kit.target_ibu, kit.figures) == (whole.target_ibu, whole.figures)
    held = kit_detail("WITH-PACK").hop_pack
    assert held is not None
    assert held.code == "HOPS"


@pytest.mark.parametrize(
    ("other", "code"),
    [
        ({"volume": 10 * UL_PER_L}, "hop-pack-differs"),
        ({"kind": MethodKind.ALL_GRAIN}, "hop-pack-differs"),
    ],
)
def test_the_hop_pack_is_of_the_same_method_and_volume(pale, goods, other, code) -> None:
    kit = holding(pale, goods, offered(hop_pack(pale, goods, **other)))
    assert "same method and volume" in kit_detail("WITH-PACK").problem
    with pytest.raises(Refusal) as refused:
        offered(kit)
    assert refused.value.code == code
    assert not Kit.objects.get(pk=kit.pk).offered


def test_what_a_kit_holds_is_offered_before_it(pale, goods) -> None:
    kit = holding(pale, goods, hop_pack(pale, goods))
    with pytest.raises(Refusal) as refused:
        offered(kit)
    assert refused.value.code == "sub-kit-not-offered"
    assert "Offer that first" in kit_detail("WITH-PACK").problem


def test_all_hops_come_in_one_hop_pack(pale, goods) -> None:
    pack = hop_pack(pale, goods)
    second = make.kit(pale, "HOPS-2", goods, contents=Contents.HOP_PACK)
    for kit in (
        lambda: holding(pale, goods, pack, second),
        lambda: make.kit(pale, "TWICE", goods, parts=[PartFacts(item=pack.item, quantity=2)]),
        lambda: make.kit(
            pale,
            "HOPS-3",
            goods,
            contents=Contents.HOP_PACK,
            parts=[PartFacts(item=pack.item, quantity=1)],
        ),
    ):
        with pytest.raises(Refusal) as refused:
            kit()
        assert refused.value.code == "hop-pack-impossible"


def test_a_set_holds_other_kits_whole_and_names_their_allergens(pale, goods) -> None:
    oats = make.item("BISCUIT", ItemKind.FLAVOURING, Measure.COUNT, allergens=["wheat"])
    single = make.offered_kit(pale, "SINGLE", goods, parts=[PartFacts(item=oats, quantity=1)])
    pair = offered(holding(pale, goods, single))
    assert any(row.role for row in bill_of(pair.pk))  # its own hops stay
    assert kit_allergens(pair.pk) == ("barley", "wheat")


def test_no_kit_holds_itself_by_a_detour(pale, goods) -> None:
    inner = make.kit(pale, "INNER", goods)
    outer = make.kit(pale, "OUTER", goods, parts=[PartFacts(item=inner.item, quantity=1)])
    with pytest.raises(Refusal) as refused:
        make.kit(pale, "INNER", goods, parts=[PartFacts(item=outer.item, quantity=1)])
    assert refused.value.code == "kit-circle"


def test_grain_may_be_added_at_dispatch_alone(pale, goods) -> None:
    kit = make.offered_kit(
        pale, "PALE-20", goods, kind=MethodKind.ALL_GRAIN, grain_part=Part.DISPATCH
    )
    parts = {row.item_kind: row.part for row in bill_of(kit.pk)}
    assert parts[ItemKind.GRAIN] == Part.DISPATCH
    assert parts[ItemKind.HOP] == parts[ItemKind.PACKAGING] == Part.PACKED
    with pytest.raises(Refusal, match="frozen"):
        make.kit(pale, "PALE-20", goods, kind=MethodKind.ALL_GRAIN, grain_part=Part.PACKED)
