"""What a beer becomes with each of its approved substitutes."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import SiteSettings
from boxwort.errors import Refusal
from inventory.models import ItemKind, MaltSpec
from recipes.brewing.roles import MethodKind
from recipes.models import Line
from recipes.queries.obstacles import obstacles
from recipes.queries.recipes import recipe_detail
from recipes.queries.substitutes import substitute_rows, suggested_weight
from recipes.services.methods import write_method
from tests.recipes import make

pytestmark = pytest.mark.django_db


@pytest.fixture
def goods():
    return make.catalogue()


@pytest.fixture
def draft(goods):
    return make.pale_ale(goods)


def _approve(revision, original, item, **facts):
    method = revision.methods.get(kind=MethodKind.EXTRACT)
    line = Line.objects.select_related("method").filter(method=method, item=original)[0]
    line.method.revision = revision
    return make.approved(line, item, **facts)


def _approve_yeast(revision, original, item):
    option = revision.yeasts.get(item=original)
    option.revision = revision
    return make.approved(option, item)


def test_a_substitute_is_shown_with_who_approved_it_and_the_figures_before_and_after(draft, goods):
    other = make.hop("OTHER", 0.1)
    substitute = _approve(draft, goods.bittering, other, ratio=0.5, note="short of Bitter")
    (row,) = substitute_rows(draft.pk)
    assert (row.id, row.item_code, row.stands_for_code) == (substitute.pk, "OTHER", "BITTER")
    assert (row.ratio, row.note, row.approved_by) == (0.5, "short of Bitter", "robin")
    assert (row.method_kind, row.position) == ("extract", 3)
    assert row.before is not None
    assert row.after is not None
    # it absorbs, so its weight follows from its alpha acid and the beer is as bitter as it was
    weight = {term.name: term.value for term in row.after.ibu.parts[0].terms}["weight"]
    assert weight == pytest.approx(36.3 * 8 / 10)
    assert row.after.ibu.value == pytest.approx(row.before.ibu.value)
    assert row.after.og == row.before.og


def test_after_a_hop_that_holds_its_weight_the_absorbing_one_takes_the_difference(draft, goods):
    _approve(draft, goods.aroma, make.hop("STRONG", 0.12), ratio=1.5)
    (row,) = substitute_rows(draft.pk)
    assert row.before is not None
    assert row.after is not None
    (less, more, _), (was, had, _) = row.after.ibu.parts, row.before.ibu.parts
    assert more.value == pytest.approx(had.value * 1.5 * 12 / 6)
    assert less.value == pytest.approx(was.value + had.value - more.value)


def test_a_substitute_that_breaks_parity_says_with_which_twin(draft, goods):
    dark = make.malt("DARK", ItemKind.EXTRACT, points=366.0, colour_lovibond=30.0)
    like = make.malt("LIKE", ItemKind.EXTRACT, points=366.0, colour_lovibond=4.0)
    _approve(draft, goods.dry_extract, dark)
    _approve(draft, goods.dry_extract, like)
    darker, alike = substitute_rows(draft.pk)
    assert [twin.other_label for twin in darker.twins] == ["All-grain"]
    apart = [row.figure for row in darker.twins[0].parity.rows if not row.within]
    assert apart == ["srm"]
    assert all(twin.parity.holds for twin in alike.twins)


def test_twins_are_compared_as_they_are_packed(draft, goods):
    SiteSettings.objects.update(pouch_resolution_mg=5000)
    _approve(draft, goods.bittering, make.hop("OTHER", 0.1))
    (row,) = substitute_rows(draft.pk)
    assert row.after is not None
    compared = row.twins[0].parity.row("ibu")
    first, *others = row.after.ibu.parts
    by_name = {term.name: term.value for term in first.terms}
    # 29.04 g are packed as 30 g; rounding the rest moves less than a tenth of an IBU
    packed = first.value * 30 / by_name["weight"]
    assert by_name["weight"] == pytest.approx(29.04)
    assert compared.one == pytest.approx(packed + sum(part.value for part in others), abs=0.1)


def test_a_yeast_goes_into_every_method_so_the_twins_stay_twins(draft, goods):
    _approve_yeast(draft, goods.ale_yeast, make.dry_yeast("OTHER-DRY"))
    rows = substitute_rows(draft.pk)
    assert [row.method_kind for row in rows] == ["all_grain", "extract"]
    for row in rows:
        assert row.before is not None
        assert row.after is not None
        assert row.after.fg.value < row.before.fg.value
        assert all(twin.parity.holds for twin in row.twins)


def test_another_yeast_is_compared_with_the_option_it_stands_for(draft, goods):
    _approve_yeast(draft, goods.dry_ale_yeast, make.dry_yeast("OTHER-DRY"))  # 78 % as well
    for row in substitute_rows(draft.pk):
        assert row.before == row.after


def test_allergens_come_and_go_with_what_holds_them(draft, goods):
    wheat = make.malt("WHEAT", ItemKind.EXTRACT, points=366.0, allergens=("wheat", "barley"))
    plain = make.malt("SUGAR", ItemKind.SUGAR, points=384.0, allergens=())
    _approve(draft, goods.dry_extract, wheat)
    _approve(draft, goods.dry_extract, plain)
    with_wheat, with_sugar = substitute_rows(draft.pk)
    assert (with_wheat.allergens_new, with_wheat.allergens_gone) == (("wheat",), ())
    assert (with_sugar.allergens_new, with_sugar.allergens_gone) == ((), ())  # crystal has barley


def test_a_draft_without_figures_says_why_there_are_none(goods):
    revision = make.draft()
    make.write_extract(revision, goods)
    _approve(revision, goods.bittering, make.hop("OTHER"))
    (row,) = substitute_rows(revision.pk)
    assert (row.before, row.after, row.twins) == (None, None, ())
    assert row.problem


def test_an_offered_revision_keeps_what_its_substitutes_were(draft, goods):
    dark = make.malt("DARK", ItemKind.EXTRACT, points=300.0, colour_lovibond=30.0)
    _approve(draft, goods.dry_extract, dark)
    make.offered(draft)
    before = substitute_rows(draft.pk)
    MaltSpec.objects.update(points_l_per_kg=200.0)
    assert substitute_rows(draft.pk) == before


def test_a_line_moved_to_another_use_keeps_no_substitute_that_cannot_follow(draft, goods):
    rye = make.malt("RYE", points=280.0, must_mash=True, allergens=("rye",))
    method = draft.methods.get(kind=MethodKind.ALL_GRAIN)
    line = Line.objects.select_related("method").get(method=method, item=goods.crystal)
    line.method.revision = draft
    make.approved(line, rye)
    assert obstacles(draft.pk) == []
    steeped = [
        make.line(goods.pale_malt, make.Use.MASH, 4400),
        make.line(goods.crystal, make.Use.STEEP, 210, 20),
        *make.pale_hops(goods, 20.9),
    ]
    facts = make.method_facts(MethodKind.ALL_GRAIN)
    write_method(by=make.developer(), revision=draft, facts=facts, lines=steeped)
    (obstacle,) = obstacles(draft.pk)
    assert obstacle.code == "substitute-unfit"
    assert "Rye cannot stand for Crystal" in obstacle.what


def test_the_page_of_a_recipe_lists_substitutes_beside_what_they_stand_for(draft, goods):
    _approve(draft, goods.bittering, make.hop("OTHER"), ratio=0.9)
    _approve_yeast(draft, goods.ale_yeast, make.dry_yeast("OTHER-DRY"))
    detail = recipe_detail("PALE-ALE")
    (line,) = [ln for ln in detail.methods[1].lines if ln.substitutes]
    assert (line.item_code, line.substitutes[0].item_code) == ("BITTER", "OTHER")
    assert (line.substitutes[0].ratio, line.substitutes[0].approved_by) == (0.9, "robin")
    assert [each.item_code for each in detail.yeasts[0].substitutes] == ["OTHER-DRY"]


@pytest.mark.parametrize(
    "read",
    [lambda r: substitute_rows(r.pk), lambda _: recipe_detail("PALE-ALE")],
    ids=["effects", "page"],
)
def test_many_substitutes_take_as_many_statements_as_one(draft, goods, read):
    counts = []
    for number in range(6):
        _approve(draft, goods.bittering, make.hop(f"OTHER-{number}"))
        with CaptureQueriesContext(connection) as statements:
            read(draft)
        counts.append(len(statements))
    assert len(set(counts)) == 1


def test_a_weight_to_begin_from_is_by_extract_or_by_alpha_acid(draft, goods):
    lines = draft.methods.get(kind=MethodKind.EXTRACT).lines.select_related("method")
    tin = make.malt("TIN", ItemKind.EXTRACT, points=305.0)
    by_extract = suggested_weight(lines.get(item=goods.dry_extract), tin)
    assert by_extract.value == pytest.approx(366 / 305)
    bittering = suggested_weight(lines.get(item=goods.bittering), make.hop("OTHER", 0.1))
    assert bittering.value == pytest.approx(0.8)
    assert bittering.formula
    aroma = suggested_weight(lines.filter(item=goods.aroma)[0], make.hop("THIRD", 0.12))
    assert aroma.value == 1


@pytest.mark.parametrize(
    "made",
    [lambda: make.hop("HOP"), lambda: make.catalogue("X-").flaked_oats],
    ids=["a hop", "flaked oats"],
)
def test_no_weight_is_suggested_for_what_cannot_stand_there(draft, goods, made):
    lines = draft.methods.get(kind=MethodKind.EXTRACT).lines.select_related("method")
    with pytest.raises(Refusal) as refused:
        suggested_weight(lines.get(item=goods.crystal), made())
    assert refused.value.code in {"substitute-unfit", "specification-missing"}
