"""Offering a revision: what stands in the way, and that nothing moves it afterwards."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from boxwort.accounts.models import History, SiteSettings
from boxwort.accounts.services import fingerprint
from boxwort.errors import Refusal
from inventory.models import HopSpec, ItemKind, MaltSpec, YeastSpec
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models import Method, Revision, RevisionState
from recipes.queries.figures import method_figures
from recipes.queries.obstacles import obstacles
from recipes.services.methods import LineFacts, write_method, write_yeasts
from recipes.services.offering import retire_revision
from tests.recipes import make
from tests.recipes.make import Catalogue

pytestmark = pytest.mark.django_db


def test_offering_freezes_the_content_and_the_figures_with_their_working():
    revision = make.offered(make.pale_ale(make.catalogue()))
    stored = Revision.objects.get(pk=revision.pk)
    assert (stored.state, stored.offered_by) == (RevisionState.OFFERED, make.developer())
    contents = [method.frozen["content"] for method in stored.methods.order_by("kind")]
    assert stored.content_hash == fingerprint({"methods": contents})
    kept = method_figures(stored.methods.get(kind=MethodKind.EXTRACT).pk)
    # 2.7 kg * 366 + 0.3 kg * 150 litre-degrees in 20 L
    assert kept.og.value == pytest.approx(1.05166)
    assert kept.og.formula


def test_the_figures_of_an_offered_revision_stay_when_an_item_changes():
    draft = make.pale_ale(make.catalogue())
    make.offered(draft)
    ids = [method.pk for method in draft.methods.all()]
    before = [method_figures(pk) for pk in ids]
    MaltSpec.objects.update(points_l_per_kg=200.0, colour_lovibond=30.0)
    HopSpec.objects.update(planning_alpha=0.03)
    YeastSpec.objects.update(attenuation=0.5)
    assert [method_figures(pk) for pk in ids] == before


def test_the_figures_of_a_draft_follow_the_catalogue():
    draft = make.pale_ale(make.catalogue())
    method = draft.methods.get(kind=MethodKind.EXTRACT)
    before = method_figures(method.pk).og.value
    MaltSpec.objects.update(points_l_per_kg=200.0)
    assert method_figures(method.pk).og.value < before


def test_hops_that_hold_their_weight_are_put_on_the_pouch_scale_and_the_others_are_not():
    SiteSettings.objects.update(pouch_resolution_mg=500)
    revision = make.offered(make.pale_ale(make.catalogue()))
    lines = revision.methods.get(kind=MethodKind.EXTRACT).lines
    held = lines.filter(role=HopRole.HOLD_WEIGHT).values_list("quantity", flat=True)
    assert list(held) == [20_000, 30_000]  # 20.2 g and 30 g
    assert lines.get(role=HopRole.ABSORB).quantity == 36_300
    settled = History.objects.filter(action="settle-held-weight")
    assert {(row.before["quantity"], row.after["quantity"]) for row in settled} == {
        (20_200, 20_000)
    }


def test_extract_and_all_grain_of_one_recipe_land_on_the_same_beer():
    # the parity limits of the house: OG and FG 0.002, IBU 2, SRM 2, ABV 0.3
    revision = make.offered(make.pale_ale(make.catalogue()))
    one, other = (method_figures(method.pk) for method in revision.methods.all())
    for name, limit in (("og", 0.002), ("fg", 0.002), ("ibu", 2.0), ("srm", 2.0), ("abv", 0.3)):
        assert abs(getattr(one, name).value - getattr(other, name).value) <= limit


def test_a_revision_is_offered_once():
    revision = make.offered(make.pale_ale(make.catalogue()))
    with pytest.raises(Refusal) as refused:
        make.offered(revision)
    assert refused.value.code == "revision-offered"


def test_a_revision_changed_meanwhile_is_not_offered_and_keeps_its_weights():
    revision = make.pale_ale(make.catalogue())
    revision.version -= 1
    with pytest.raises(Refusal) as told:
        make.offered(revision)
    assert told.value.code == "changed-by-someone-else"
    assert Revision.objects.get(pk=revision.pk).state == RevisionState.DRAFT


def test_only_an_offered_revision_is_retired():
    revision = make.pale_ale(make.catalogue())
    by = make.developer()
    with pytest.raises(Refusal) as refused:
        retire_revision(by=by, revision=revision, expected=revision.version)
    assert refused.value.code == "revision-not-offered"
    make.offered(revision)
    retire_revision(by=by, revision=revision, expected=revision.version)
    assert Revision.objects.get(pk=revision.pk).state == RevisionState.RETIRED


def _refusal(revision: Revision) -> Refusal:
    with pytest.raises(Refusal) as refused:
        make.offered(revision)
    assert Revision.objects.get(pk=revision.pk).state == RevisionState.DRAFT
    assert refused.value.remedy
    return refused.value


def test_a_revision_with_no_hop_that_absorbs_cannot_be_offered():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    _extract(
        revision,
        make.line(goods.dry_extract, Use.BOIL, 2700, 60),
        make.hop_line(goods.bittering, Use.BOIL, 30, 60, role=HopRole.HOLD_BITTERNESS),
    )
    assert _refusal(revision).code == "absorb-missing"


def test_more_gas_than_bottles_bear_is_offered_only_for_heavy_bottles():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    make.write_extract(revision, goods, carbonation_volumes=4.1)
    refusal = _refusal(revision)
    assert refusal.code == "bottles-would-burst"
    assert "heavy bottles" in refusal.remedy
    make.write_extract(revision, goods, carbonation_volumes=4.0)
    assert obstacles(revision.pk) == []
    make.write_extract(revision, goods, carbonation_volumes=4.1, heavy_bottles=True)
    assert make.offered(revision).state == RevisionState.OFFERED


def test_a_beer_that_only_a_hop_stand_bitters_needs_a_hop_that_absorbs():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    lines = [
        make.line(goods.dry_extract, Use.BOIL, 2700, 60),
        make.hop_line(goods.aroma, Use.FLAME_OUT, 60, 0),
    ]
    stand = {"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0}
    make.write_method_of(revision, *lines, **stand)
    assert _refusal(revision).code == "absorb-missing"


def test_a_beer_without_bittering_needs_no_hop_that_absorbs():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    _extract(
        revision,
        make.line(goods.dry_extract, Use.BOIL, 2700, 60),
        make.hop_line(goods.aroma, Use.DRY_HOP, 30),
    )
    assert make.offered(revision).state == RevisionState.OFFERED


def test_a_revision_without_a_method_or_a_yeast_cannot_be_offered():
    goods, revision = make.catalogue(), make.draft()
    assert _refusal(revision).code == "method-missing"
    make.write_extract(revision, goods)
    assert _refusal(revision).code == "yeast-missing"


def _extract(revision: Revision, *lines: LineFacts) -> Method:
    return write_method(
        by=make.developer(),
        revision=revision,
        facts=make.method_facts(MethodKind.EXTRACT),
        lines=lines,
    )


WRONG_LINES: dict[str, tuple[str, Callable[[Catalogue], LineFacts]]] = {
    "flaked grain in the steeping bag": (
        "grain-misplaced",
        lambda goods: make.line(goods.flaked_oats, Use.STEEP, 300, 20),
    ),
    "a mash in an extract method": (
        "grain-misplaced",
        lambda goods: make.line(goods.pale_malt, Use.MASH, 300),
    ),
    "sugar in the mash of an extract method": (
        "mash-in-extract-method",
        lambda goods: make.line(goods.dry_extract, Use.MASH, 300),
    ),
    "a hop without a role": (
        "hop-role-missing",
        lambda goods: make.line(goods.aroma, Use.BOIL, 10, 10),
    ),
    "a dry hop that absorbs": (
        "hop-must-hold-weight",
        lambda goods: make.hop_line(goods.aroma, Use.DRY_HOP, 10, role=HopRole.ABSORB),
    ),
    "a flame-out hop that holds bitterness": (
        "hop-must-hold-weight",
        lambda goods: make.hop_line(goods.aroma, Use.FLAME_OUT, 10, role=HopRole.HOLD_BITTERNESS),
    ),
    "a hop boiled longer than the boil": (
        "longer-than-the-boil",
        lambda goods: make.hop_line(goods.aroma, Use.BOIL, 10, 75),
    ),
    "a mineral boiled longer than the boil": (
        "longer-than-the-boil",
        lambda goods: make.line(goods.gypsum, Use.BOIL, 2, 75),
    ),
    "a hop boiled for no time": (
        "boil-time-missing",
        lambda goods: make.hop_line(goods.aroma, Use.BOIL, 10, 0),
    ),
    "grain in the boil": (
        "grain-misplaced",
        lambda goods: make.line(goods.crystal, Use.BOIL, 300, 60),
    ),
    "hops with the priming sugar": (
        "figures-impossible",
        lambda goods: make.hop_line(goods.aroma, Use.PRIMING, 10),
    ),
}


@pytest.mark.parametrize("fault", WRONG_LINES)
def test_one_wrong_line_keeps_a_revision_from_being_offered(fault: str):
    code, wrong = WRONG_LINES[fault]
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    make.write_extract(revision, goods, wrong(goods))
    assert _refusal(revision).code == code


def test_an_extract_without_a_specification_gives_no_figures():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    syrup = make.malt("SYRUP", ItemKind.EXTRACT, points=300.0)
    MaltSpec.objects.filter(item=syrup).delete()
    syrup.refresh_from_db()
    make.write_extract(revision, goods, make.line(syrup, Use.BOIL, 300, 10))
    assert _refusal(revision).code == "specification-missing"


def _all_grain(revision: Revision, *lines: LineFacts) -> Method:
    return write_method(
        by=make.developer(),
        revision=revision,
        facts=make.method_facts(MethodKind.ALL_GRAIN),
        lines=lines,
    )


def test_all_grain_mashes_grain_that_converts():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    _all_grain(revision, make.line(goods.dry_extract, Use.BOIL, 2700, 60))
    assert _refusal(revision).code == "mash-missing"
    # 85 degrees Lintner * 1 kg / 4 kg = 21, below the 30 that converts
    _all_grain(
        revision,
        make.line(goods.pale_malt, Use.MASH, 1000),
        make.line(goods.flaked_oats, Use.MASH, 3000),
    )
    assert _refusal(revision).code == "grist-too-weak"


def test_a_method_of_nothing_but_water_has_no_figures_to_offer():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    _extract(revision, make.hop_line(goods.aroma, Use.DRY_HOP, 10))
    assert _refusal(revision).code in {"extract-missing", "figures-impossible"}


def test_all_that_stands_in_the_way_is_said_at_once():
    goods, revision = make.catalogue(), make.draft()
    make.write_extract(revision, goods, make.line(goods.flaked_oats, Use.STEEP, 300, 20))
    codes = [obstacle.code for obstacle in obstacles(revision.pk)]
    assert codes == ["yeast-missing", "grain-misplaced"]
    refusal = _refusal(revision)
    assert [row["code"] for row in refusal.details["obstacles"]] == codes
