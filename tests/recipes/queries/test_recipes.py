"""Recipes for reading."""

from __future__ import annotations

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from recipes.brewing.roles import MethodKind, Use
from recipes.models import Recipe, Revision
from recipes.queries.recipes import recipe_detail, recipe_rows
from recipes.services.offering import retire_revision
from recipes.services.recipes import start_revision
from tests.recipes import make

pytestmark = pytest.mark.django_db


def _statements(read) -> int:
    with CaptureQueriesContext(connection) as statements:
        read()
    return len(statements)


def test_the_list_names_the_newest_offered_revision_and_every_state():
    first = make.offered(make.pale_ale(make.catalogue()))
    start_revision(by=make.developer(), recipe=first.recipe)
    (row,) = recipe_rows()
    assert (row.code, row.name, row.style) == ("PALE-ALE", "Ridge Pale", "Pale ale")
    assert row.offered_number == 1
    assert [(r.number, r.state) for r in row.revisions] == [(2, "draft"), (1, "offered")]


def test_a_retired_revision_is_not_the_offered_one():
    revision = make.offered(make.pale_ale(make.catalogue()))
    retire_revision(by=make.developer(), revision=revision, expected=revision.version)
    (row,) = recipe_rows()
    assert row.offered_number is None


def test_thirty_recipes_take_as_many_statements_as_three():
    for number in range(3):
        make.draft(f"BEER-{number}")
    three = _statements(recipe_rows)
    for number in range(3, 30):
        make.draft(f"BEER-{number}")
    assert len(recipe_rows()) == 30
    assert _statements(recipe_rows) == three


def test_the_methods_of_a_revision_stand_side_by_side_with_their_working():
    make.offered(make.pale_ale(make.catalogue()))
    detail = recipe_detail("PALE-ALE")
    assert [method.kind for method in detail.methods] == ["all_grain", "extract"]
    extract = detail.methods[1]
    assert extract.figures is not None
    assert extract.figures.og.value == pytest.approx(1.05166)
    assert [part.name for part in extract.figures.og.parts] == ["Extract", "Crystal"]
    assert [line.item_code for line in extract.lines[:2]] == ["EXTRACT", "CRYSTAL"]
    assert [yeast.item_code for yeast in detail.yeasts] == ["ALE", "DRY-ALE"]
    assert detail.revision is not None
    assert detail.revision.offered_by == "robin"


def test_the_offered_revision_is_shown_unless_another_is_asked_for():
    first = make.offered(make.pale_ale(make.catalogue()))
    start_revision(by=make.developer(), recipe=first.recipe)
    shown = [recipe_detail("PALE-ALE", number).revision for number in (None, 1, 2)]
    assert [revision and revision.number for revision in shown] == [1, 1, 2]
    with pytest.raises(Revision.DoesNotExist):
        recipe_detail("PALE-ALE", 3)
    with pytest.raises(Recipe.DoesNotExist):
        recipe_detail("STOUT")


def test_a_draft_without_figures_says_why_and_what_is_owed():
    goods, revision = make.catalogue(), make.draft()
    make.write_extract(revision, goods)
    detail = recipe_detail("PALE-ALE")
    assert detail.methods[0].figures is None
    assert "no yeast" in detail.methods[0].problem
    assert [obstacle.code for obstacle in detail.obstacles] == ["yeast-missing"]


def test_a_recipe_just_written_has_nothing_to_show_yet():
    revision = make.draft()
    revision.delete()
    detail = recipe_detail("PALE-ALE")
    assert (detail.revision, detail.methods) == (None, ())


@pytest.mark.parametrize("offer", [False, True])
def test_a_method_of_thirty_lines_takes_as_many_statements_as_one_of_three(offer):
    goods = make.catalogue()
    counts = []
    for code, extra in (("SHORT", 0), ("LONG", 30)):
        revision = make.pale_ale(goods, code)
        sugars = [make.line(goods.gypsum, Use.BOIL, 1, 10) for _ in range(extra)]
        make.write_extract(revision, goods, *sugars)
        if offer:
            make.offered(revision)
        counts.append(_statements(lambda code=code: recipe_detail(code)))
    assert counts[0] == counts[1]


def test_hops_without_a_reference_count_at_the_planning_alpha_while_drafting():
    goods = make.catalogue()
    revision = make.pale_ale(goods)
    make.write_extract(revision, goods, make.line(goods.aroma, Use.BOIL, 10, 60))
    detail = recipe_detail("PALE-ALE")
    extract = next(m for m in detail.methods if m.kind == MethodKind.EXTRACT)
    assert extract.figures is not None
    terms = {term.name: term.value for term in extract.figures.ibu.parts[-1].terms}
    assert terms["alpha"] == pytest.approx(6.0)
