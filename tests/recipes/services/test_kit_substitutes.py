"""Offering a kit freezes what may stand for each row of its bill."""

from __future__ import annotations

import pytest
from django.db import IntegrityError, transaction

from boxwort.accounts.models import SiteSettings
from boxwort.quantities import UL_PER_L
from inventory.models import HopSpec, Item, ItemKind, MaltSpec
from inventory.models.guards import drop_guards, install_guards
from recipes.brewing.roles import MethodKind
from recipes.models import KitBillSubstitute, Line, Method, Revision
from recipes.queries.bills import bill_of, bill_substitutes, totals, with_substitutes
from recipes.queries.figures import kept_figures
from recipes.queries.kit_designs import figures_with
from recipes.queries.kits import allergens_of
from tests.recipes import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods():
    return make.catalogue()


@pytest.fixture
def draft(goods):
    return make.pale_ale(goods)


def _line(revision: Revision, item: Item) -> Line:
    lines = Line.objects.filter(method__revision=revision, method__kind=MethodKind.EXTRACT)
    line = lines.filter(item=item).order_by("position")[0]
    line.method.revision = revision
    return line


def _offered(revision: Revision, goods, **values):
    kit = make.offered_kit(make.offered(revision), "PALE-20", goods, **values)
    return kit, bill_substitutes([kit.pk])[kit.pk]


def test_a_hop_substitute_has_its_own_weight_alpha_and_bitterness(draft, goods):
    other = make.hop("OTHER", 0.1, overage=0.03)
    make.approved(_line(draft, goods.bittering), other, ratio=0.8, note="when Bitter is gone")
    kit, substitutes = _offered(draft, goods)
    (row,) = substitutes["hop-1"]
    bill = {each.key: each for each in bill_of(kit.pk)}
    # 36.3 g * 0.8 = 29.04 g, on half grams 29 g; the same boil, so the same IBU per gram of alpha
    assert (row.item_code, row.packed, row.reference_alpha) == ("OTHER", 29_000, 0.1)
    assert row.exact == pytest.approx(29_040)
    assert row.reason == "29.04 g packed as 29 g: the pouch scale goes in steps of 0.5 g"
    assert row.ibu_per_gram == pytest.approx(bill["hop-1"].ibu_per_gram)
    assert (row.overage, row.note, row.approved_by) == (0.03, "when Bitter is gone", "robin")
    # 36.3 g at 8 % are 2.904 g of alpha acid, and so are 29.04 g at 10 %
    assert row.figures.ibu.value == pytest.approx(kit.target_ibu)


@pytest.mark.parametrize(("pellet", "cone"), [(1.0, 0.9), (1.1, 1.1 * 0.9)])
def test_a_hop_of_another_form_counts_by_its_form_factor_next_to_the_lines(
    draft, goods, pellet, cone
):
    SiteSettings.objects.update(form_factor_pellet=pellet, form_factor_cone=cone)
    cones = make.hop("CONES", 0.08)
    HopSpec.objects.filter(item=cones).update(form="cone")
    make.approved(_line(draft, goods.bittering), cones)
    kit, substitutes = _offered(draft, goods)
    usual = next(row for row in bill_of(kit.pk) if row.key == "hop-1")
    assert substitutes["hop-1"][0].ibu_per_gram == pytest.approx(0.9 * (usual.ibu_per_gram or 0))


def test_a_malt_substitute_moves_gravity_colour_and_the_boil_of_the_hops(draft, goods):
    dark = make.malt("DARK", ItemKind.EXTRACT, points=300.0, colour_lovibond=30.0)
    make.approved(_line(draft, goods.dry_extract), dark, ratio=1.2)
    kit, substitutes = _offered(draft, goods)
    (row,) = substitutes["malt-1"]
    assert row.packed == make.kg(3.24)
    # (3.24 kg * 300 + 0.3 kg * 150) / 20 L
    assert row.figures.og.value == pytest.approx(1.05085)
    assert row.figures.srm.value > kit.figures["srm"]["value"] + 5
    # a lighter boil, so a little more bitterness from the same hops
    assert row.figures.ibu.value > kit.target_ibu
    assert (row.reference_alpha, row.ibu_per_gram) == (None, None)


def test_a_yeast_substitute_is_pitched_anew_and_ferments_by_its_own_attenuation(draft, goods):
    option = draft.yeasts.get(item=goods.ale_yeast)
    option.revision = draft
    make.approved(option, make.dry_yeast("OTHER-DRY"))
    kit, substitutes = _offered(draft, goods)
    (row,) = substitutes["yeast-1"]
    assert (row.item_code, row.packed) == ("OTHER-DRY", 1)
    assert row.reason == "10.0 g wanted, 11 g in a pack: 1 whole"
    # 78 % in place of 76 %: extract leaves 22 %, crystal 1 - 0.78 * 0.6
    left = (2.7 * 366 * 0.22 + 0.3 * 150 * (1 - 0.78 * 0.6)) / 20 / 1000
    assert row.figures.fg.value == pytest.approx(1 + left)
    assert kept_figures(kit.figures).fg.value > row.figures.fg.value


def test_where_trials_set_the_attenuation_a_yeast_substitute_is_taken_in_proportion(draft, goods):
    Method.objects.filter(revision=draft).update(attenuation=0.70)
    option = draft.yeasts.get(item=goods.ale_yeast)
    option.revision = draft
    make.approved(option, make.dry_yeast("OTHER-DRY"))
    _, substitutes = _offered(draft, goods)
    (row,) = substitutes["yeast-1"]
    goes = 0.70 * 0.78 / 0.76
    left = (2.7 * 366 * (1 - goes) + 0.3 * 150 * (1 - goes * 0.6)) / 20 / 1000
    assert row.figures.fg.value == pytest.approx(1 + left)


def test_a_mineral_substitute_follows_the_ratio_and_no_figure_moves(draft, goods):
    make.approved(_line(draft, goods.gypsum), make.item("SALT", ItemKind.MINERAL), ratio=0.5)
    kit, substitutes = _offered(draft, goods, volume=10 * UL_PER_L)
    (row,) = substitutes["mineral-1"]
    assert row.exact == pytest.approx(4_260 * 0.5 * 0.5)
    assert row.figures == kept_figures(kit.figures)


def test_a_bill_with_substitutes_keeps_its_keys_and_frozen_rows(draft, goods):
    other = make.hop("OTHER", 0.1)
    make.approved(_line(draft, goods.bittering), other, ratio=0.8)
    kit, substitutes = _offered(draft, goods)
    usual = bill_of(kit.pk)
    with_other = with_substitutes(usual, {"hop-1": substitutes["hop-1"][0]})
    assert [(row.key, row.bill_line_id, row.role) for row in with_other] == [
        (row.key, row.bill_line_id, row.role) for row in usual
    ]
    (changed,) = [new for new, old in zip(with_other, usual, strict=True) if new != old]
    assert (changed.item_code, changed.stands_for, changed.packed) == ("OTHER", "Bitter", 29_000)
    assert changed.substitute_id == KitBillSubstitute.objects.get().pk
    assert changed.reference_alpha == 0.1
    assert {row.key: row.total for row in totals(with_other, 10)}["hop-1"] == 290_000


def test_several_substitutes_at_once_have_figures_of_their_own(draft, goods):
    dark = make.malt("DARK", ItemKind.EXTRACT, points=300.0, colour_lovibond=30.0)
    make.approved(_line(draft, goods.dry_extract), dark, ratio=1.2)
    make.approved(_line(draft, goods.bittering), make.hop("OTHER", 0.1))
    option = draft.yeasts.get(item=goods.ale_yeast)
    option.revision = draft
    make.approved(option, make.dry_yeast("OTHER-DRY"))
    kit, substitutes = _offered(draft, goods)
    chosen = {key: rows[0] for key, rows in substitutes.items()}
    for key, row in chosen.items():
        assert figures_with(kit.pk, {key: row}) == row.figures
    together = figures_with(kit.pk, chosen)
    assert together.og == chosen["malt-1"].figures.og
    assert together.ibu.value > chosen["hop-1"].figures.ibu.value
    assert together.fg.value < chosen["malt-1"].figures.fg.value
    assert figures_with(kit.pk, {}) == kept_figures(kit.figures)


def test_frozen_substitutes_stay_when_the_catalogue_changes(draft, goods):
    make.approved(_line(draft, goods.bittering), make.hop("OTHER", 0.1))
    make.offered(draft)
    before = make.offered_kit(draft, "PALE-20", goods)
    HopSpec.objects.update(planning_alpha=0.03, form="cone")
    MaltSpec.objects.update(points_l_per_kg=200.0)
    after = make.offered_kit(draft, "PALE-20B", goods)
    kept = bill_substitutes([before.pk, after.pk])
    one, other = kept[before.pk]["hop-1"][0], kept[after.pk]["hop-1"][0]
    assert (one.reference_alpha, one.figures) == (other.reference_alpha, other.figures)
    assert one.reference_alpha == 0.1


def test_the_database_keeps_frozen_substitutes(draft, goods):
    make.approved(_line(draft, goods.bittering), make.hop("OTHER", 0.1))
    _offered(draft, goods)
    install_guards("default")
    try:
        for act in (lambda rows: rows.update(packed=1), lambda rows: rows.delete()):
            with pytest.raises(IntegrityError), transaction.atomic():
                act(KitBillSubstitute.objects.all())
    finally:
        drop_guards("default")


def test_the_allergens_with_a_substitute_are_those_of_what_is_in_the_box(draft, goods):
    rye = make.malt("RYE", ItemKind.EXTRACT, points=300.0, allergens=("rye",))
    make.approved(_line(draft, goods.dry_extract), rye)
    kit, substitutes = _offered(draft, goods)
    with_rye = with_substitutes(bill_of(kit.pk), {"malt-1": substitutes["malt-1"][0]})
    assert allergens_of([row.item_id for row in with_rye]) == ("barley", "rye")  # crystal stays
