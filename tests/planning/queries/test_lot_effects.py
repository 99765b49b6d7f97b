"""What a new hop lot does to every kit of its hop, before anything is reserved from it."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import SiteSettings
from inventory.models import HopForm, HopSpec, Lot
from planning.engine.kit_sheet import BoundKit, BoundLot, balanced
from planning.queries.lot_effects import lot_effects
from planning.queries.supply import hop_line, house
from recipes.brewing.roles import MethodKind
from recipes.queries.bills import bill_of
from tests.planning.make import TODAY, grams, pouched_ale, store
from tests.recipes.make import kit, offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    HopSpec.objects.update(lost_in_six_months=0.0)  # so that a lot has the alpha it is given
    return made


def new_lot(made, alpha, **facts):
    item = facts.pop("item", made.goods.bittering)
    lot = made.lot(item, grams(5000), code="NEW", alpha=alpha, received_on=TODAY, **facts)
    return Lot.objects.select_related("item__hop").get(pk=lot.pk)


def effect(lot):
    (found,) = lot_effects(lot, TODAY).kits
    return found


def absorbing(found):
    return next(line for line in found.lines if line.role == "absorb")


def test_a_stronger_lot_takes_weight_off_and_keeps_the_bitterness(made):
    found = effect(new_lot(made, 0.10))
    line = absorbing(found)
    assert line.after_mg == pytest.approx(
        line.before_mg * 0.08 / 0.10, abs=500
    )  # on the pouch scale
    assert found.ibu_unchanged > found.target_ibu + 5
    assert found.ibu_corrected == pytest.approx(found.target_ibu, abs=0.1)
    assert found.moves
    assert not found.limited


def test_a_lot_as_the_recipe_was_written_for_changes_nothing(made):
    found = effect(new_lot(made, 0.08))
    assert not found.moves
    assert found.ibu_unchanged == pytest.approx(found.target_ibu, abs=0.2)


def test_a_lot_too_weak_is_held_at_the_limit_and_misses_the_target(made):
    found = effect(new_lot(made, 0.03))
    assert found.limited
    assert absorbing(found).limited
    assert found.ibu_corrected < found.target_ibu - 1


def test_a_house_that_allows_more_of_a_weak_lot_meets_the_target(made):
    SiteSettings.objects.update(most_multiple=4.0)
    found = effect(new_lot(made, 0.03))
    line = absorbing(found)
    assert not found.limited
    assert 2 * line.before_mg < line.after_mg < 4 * line.before_mg
    assert found.ibu_corrected == pytest.approx(found.target_ibu, abs=0.1)


def test_an_aroma_lot_moves_the_bittering_hop(made):
    found = effect(new_lot(made, 0.09, item=made.goods.aroma))
    assert [line.name for line in found.lines if line.before_mg != line.after_mg] == [
        absorbing(found).name
    ]


def test_the_answer_is_that_of_a_single_balance(made):
    lot = new_lot(made, 0.10)
    bound = BoundKit(
        target_ibu=made.kit.target_ibu,
        hop_lines=[hop_line(row) for row in bill_of(made.kit.pk) if row.role],
        bound_items={},
        resolution_mg=house().resolution_mg,
    )
    alone = balanced(
        bound, {lot.item.code: BoundLot(lot=lot.pk, code="NEW", available=0, alpha=0.10)}
    )
    found = effect(lot)
    assert {line.key: line.after_mg for line in found.lines} == alone.weights
    assert found.ibu_corrected == pytest.approx(alone.ibu_corrected)


def test_cones_count_by_the_form_factor_of_the_house(made):
    SiteSettings.objects.update(form_factor_cone=0.8)
    plain = absorbing(effect(new_lot(made, 0.08)))
    Lot.objects.filter(code="NEW").update(form=HopForm.CONE)
    cones = absorbing(effect(Lot.objects.select_related("item__hop").get(code="NEW")))
    assert cones.after_mg > plain.after_mg


def test_only_offered_kits_that_use_the_hop_are_shown(made):
    revision = offered(pale_ale(made.goods, "MORE"))
    kit(revision, "KIT-DRAFT", made.goods)
    offered_kit(revision, "KIT-AG", made.goods, kind=MethodKind.ALL_GRAIN, shelf_days=30)
    found = lot_effects(new_lot(made, 0.10), TODAY)
    assert [each.kit_code for each in found.kits] == ["KIT-AG", "KIT-PALE"]
    assert len(found.alphas) == 2  # two shelf allowances, two brew days


def test_a_lot_of_malt_does_nothing_to_hops(made):
    lot = Lot.objects.select_related("item__hop").get(item=made.goods.crystal)
    assert lot_effects(lot, TODAY).kits == ()


def test_more_kits_cost_no_more_statements(made):
    lot = new_lot(made, 0.10)
    with CaptureQueriesContext(connection) as few:
        lot_effects(lot, TODAY)
    revision = offered(pale_ale(made.goods, "MORE"))
    for number in range(4):
        offered_kit(revision, f"KIT-{number}", made.goods, shelf_days=30 + number)
    with CaptureQueriesContext(connection) as many:
        assert len(lot_effects(lot, TODAY).kits) == 5
    assert len(many) == len(few)


def test_a_pouch_of_a_fixed_weight_moves_its_time():
    made = store(recipe=pouched_ale)
    HopSpec.objects.update(lost_in_six_months=0.0)
    line = next(line for line in effect(new_lot(made, 0.09)).lines if line.role == "move_time")
    assert line.after_mg == line.before_mg
    assert line.minutes_before == 35
    assert line.minutes_after < 35
