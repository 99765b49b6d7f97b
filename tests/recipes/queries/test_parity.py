"""The methods of a revision as twins."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.accounts.models import SiteSettings
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.queries.figures import method_figures
from recipes.queries.obstacles import obstacles
from recipes.queries.recipes import recipe_detail
from recipes.services.methods import write_yeasts
from tests.recipes import make

pytestmark = pytest.mark.django_db


def warnings_of(revision):
    return recipe_detail(revision.recipe.code).warnings


def test_extract_and_all_grain_of_one_beer_are_twins():
    revision = make.pale_ale(make.catalogue())
    (row,) = recipe_detail(revision.recipe.code).twins
    assert {row.one_kind, row.other_kind} == {"all_grain", "extract"}
    assert row.parity is not None
    assert row.parity.holds
    assert row.apart == ""
    assert warnings_of(revision) == ()


def test_they_are_compared_as_packed():
    SiteSettings.objects.update(pouch_resolution_mg=50_000)  # 36.3 g and 20.9 g become 50 g each
    revision = make.pale_ale(make.catalogue())
    (row,) = recipe_detail(revision.recipe.code).twins
    assert row.parity is not None
    bitterness = row.parity.row("ibu")
    written = method_figures(revision.methods.get(kind=MethodKind.ALL_GRAIN).pk).ibu.value
    assert bitterness.one > 2 * written
    assert not bitterness.within


def test_twins_that_differ_are_a_warning_and_not_an_obstacle():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    make.write_extract(revision, goods, make.line(goods.dry_extract, Use.BOIL, 500, 10))
    (row,) = recipe_detail(revision.recipe.code).twins
    # 0.5 * 366 / 20 = 9.15 points more, from 51.66 to 60.81, and the twin has 51.74
    assert row.apart.startswith("original gravity by 0.00907 SG, final gravity by ")
    (warning,) = warnings_of(revision)
    assert warning.code == "twins-differ"
    assert "original gravity" in warning.what
    assert obstacles(revision.pk) == []


def test_a_method_alone_has_no_twin_and_one_without_figures_is_not_compared():
    goods, revision = make.catalogue(), make.draft()
    make.write_extract(revision, goods)
    assert recipe_detail(revision.recipe.code).twins == ()
    make.write_all_grain(revision, goods)
    (row,) = recipe_detail(revision.recipe.code).twins  # there is no yeast yet
    assert (row.parity, row.apart) == (None, "")


def test_a_hop_with_the_heat_off_without_a_stand_is_a_warning():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    late = make.hop_line(goods.aroma, Use.WHIRLPOOL, 30)
    make.write_extract(revision, goods, late)
    (warning,) = warnings_of(revision)
    assert warning.code == "stand-missing"
    stand = {"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0}
    make.write_extract(revision, goods, late, **stand)
    assert warnings_of(revision) == ()


def test_a_grist_that_converts_slowly_is_a_warning():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    # 85 degrees Lintner * 4.4 kg / (4.4 + 0.21 + 5.5) kg = 37
    make.write_all_grain(revision, goods, make.line(goods.flaked_oats, Use.MASH, 5500))
    assert "grist-weak" in [warning.code for warning in warnings_of(revision)]
    assert obstacles(revision.pk) == []


def test_a_declared_stand_lets_a_late_hop_hold_its_bitterness():
    goods, revision = make.catalogue(), make.draft()
    write_yeasts(by=make.developer(), revision=revision, items=[goods.ale_yeast])
    late = make.hop_line(goods.aroma, Use.WHIRLPOOL, 30, role=HopRole.HOLD_BITTERNESS)
    make.write_extract(revision, goods, late)
    assert [each.code for each in obstacles(revision.pk)] == ["hop-must-hold-weight"]
    stand = {"stand_minutes": 20, "stand_from_c": 95.0, "stand_to_c": 80.0}
    method = make.write_extract(revision, goods, late, **stand)
    assert obstacles(revision.pk) == []
    assert method_figures(method.pk).ibu.parts[-1].value > 1


def test_pairs_take_as_many_statements_for_many_lines_as_for_few():
    goods = make.catalogue()
    counts = []
    for code, extra in (("SHORT", 0), ("LONG", 30)):
        revision = make.pale_ale(goods, code)
        salts = [make.line(goods.gypsum, Use.BOIL, 1, 10) for _ in range(extra)]
        make.write_extract(revision, goods, *salts)
        with CaptureQueriesContext(connection) as statements:
            recipe_detail(code)
        counts.append(len(statements))
    assert counts[0] == counts[1]
