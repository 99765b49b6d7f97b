"""Kits for reading."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.quantities import UL_PER_L
from inventory.models import ItemKind, MaltSpec
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Kit
from recipes.queries.bills import bill_of
from recipes.queries.kits import kit_allergens, kit_detail, kit_rows
from recipes.services.methods import write_method, write_yeasts
from tests.recipes import make

pytestmark = pytest.mark.django_db


def _statements(read) -> int:
    with CaptureQueriesContext(connection) as statements:
        read()
    return len(statements)


def test_the_list_gives_figures_price_and_size_of_offered_kits():
    goods = make.catalogue()
    revision = make.offered(make.pale_ale(goods))
    make.offered_kit(revision, "PALE-20", goods)
    make.kit(revision, "PALE-10", goods, volume=10 * UL_PER_L)
    small, large = kit_rows()
    assert (large.code, large.volume, large.price) == ("PALE-20", 20 * UL_PER_L, 450_000)
    assert large.og == pytest.approx(1.05166)
    assert large.ibu == large.target_ibu
    assert (small.offered, small.og, small.target_ibu) == (False, None, None)


def test_thirty_kits_take_as_many_statements_as_three():
    goods = make.catalogue()
    revision = make.offered(make.pale_ale(goods))
    for number in range(3):
        make.offered_kit(revision, f"PALE-{number}", goods)
    three = _statements(kit_rows)
    for number in range(3, 30):
        make.offered_kit(revision, f"PALE-{number}", goods)
    assert len(kit_rows()) == 30
    assert _statements(kit_rows) == three


def test_an_offered_kit_is_shown_as_it_was_frozen():
    goods = make.catalogue()
    kit = make.offered_kit(make.offered(make.pale_ale(goods)), "PALE-20", goods)
    MaltSpec.objects.update(points_l_per_kg=200.0)
    detail = kit_detail("PALE-20")
    assert detail.figures is not None
    assert detail.figures.og.value == pytest.approx(1.05166)
    assert list(detail.bill) == bill_of(kit.pk)
    assert detail.problem == ""


def test_a_draft_kit_is_shown_as_it_would_be():
    goods = make.catalogue()
    make.kit(make.pale_ale(goods), "PALE-10", goods, volume=10 * UL_PER_L)
    detail = kit_detail("PALE-10")
    assert detail.bill[0].packed == make.kg(1.35)
    assert (detail.pre_boil_volume, detail.post_boil_volume) == (6 * UL_PER_L, 5 * UL_PER_L)
    assert detail.figures is not None
    assert detail.figures.og.value == pytest.approx(1.05166)


def test_a_draft_kit_that_cannot_be_designed_says_why():
    goods, revision = make.catalogue(), make.draft()
    make.write_extract(revision, goods)
    make.kit(revision, "PALE-20", goods)
    detail = kit_detail("PALE-20")
    assert (detail.figures, detail.bill) == (None, ())
    assert "no yeast" in detail.problem


def test_a_draft_that_absorbs_only_without_bitterness_cannot_be_scaled():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    write_method(
        by=make.developer(),
        revision=revision,
        facts=make.method_facts(MethodKind.EXTRACT),
        lines=[
            make.line(goods.dry_extract, Use.BOIL, 2700, 60),
            make.hop_line(goods.aroma, Use.DRY_HOP, 30, role=HopRole.ABSORB),
        ],
    )
    make.kit(revision, "PALE-10", goods, volume=10 * UL_PER_L)
    assert "cannot be brewed at 10 L" in kit_detail("PALE-10").problem


def test_the_allergens_of_a_kit_are_those_of_all_that_is_in_its_box():
    goods = make.catalogue()
    fining = make.item("FINING", ItemKind.FINING, allergens=["fish"])
    sugar = make.malt(
        "LACTOSE", ItemKind.SUGAR, points=380.0, fermentability=0.0, allergens=["milk"]
    )
    revision = make.pale_ale(goods)
    make.write_extract(
        revision, goods, make.line(sugar, Use.BOIL, 200, 10), make.line(fining, Use.BOIL, 1, 15)
    )
    kit = make.offered_kit(make.offered(revision), "MILK-20", goods)
    assert kit_allergens(kit.pk) == ("barley", "milk", "fish")
    assert kit_detail("MILK-20").allergens == ("barley", "milk", "fish")


def test_a_kit_that_is_not_there_is_not_made_up():
    with pytest.raises(Kit.DoesNotExist):
        kit_detail("PALE-20")


@pytest.mark.parametrize("offer", [False, True])
def test_a_long_bill_takes_as_many_statements_as_a_short_one(offer):
    goods = make.catalogue()
    counts = []
    for code, extra in (("SHORT", 0), ("LONG", 30)):
        revision = make.pale_ale(goods, code)
        make.write_extract(
            revision, goods, *[make.line(goods.gypsum, Use.BOIL, 1, 10) for _ in range(extra)]
        )
        make.offered(revision)
        (make.offered_kit if offer else make.kit)(revision, f"{code}-20", goods)
        counts.append(_statements(lambda code=code: kit_detail(f"{code}-20")))
    assert counts[0] == counts[1]
