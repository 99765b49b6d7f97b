"""The paper on which a kit or a revision shows how its figures come about."""

from __future__ import annotations

from datetime import date

import pytest

from boxwort.errors import Refusal
from boxwort.papers.printing import Paper, Reader
from recipes.documents.working_sheet import kit_workings_pdf, revision_workings_pdf
from recipes.models import YeastOption
from recipes.queries.brew_day import kit_brew_day, method_brew_days
from recipes.queries.kits import kit_detail
from recipes.queries.recipes import recipe_detail
from tests.planning.documents.sample import text
from tests.recipes.make import catalogue, draft, kit, offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db
READER = Reader(producer="Fernhollow Kit Works", on=date(2026, 11, 25))


def drawn(code="KIT-1", reader=READER):
    found = kit_detail(code)
    return kit_workings_pdf(found, kit_brew_day(found.row.id, found.bill), reader=reader)


def revision_drawn(code="PALE-ALE"):
    detail = recipe_detail(code)
    days = method_brew_days(method.id for method in detail.methods)
    return revision_workings_pdf(detail, days, reader=READER)


def test_a_kit_says_what_it_is_and_that_its_figures_are_frozen():
    goods = catalogue()
    offered_kit(offered(pale_ale(goods)), "KIT-1", goods)
    words = text(drawn())
    for said in (
        "Fernhollow Kit Works",
        "25 Nov 2026",
        "extract with steeped grain, 20.00 L",
        "Ridge Pale revision 1",
        "frozen when the kit was offered",
        "not laboratory results",
        "Original gravity",
        "Light through the glass",
        "The method does not say how much carbonation it wants.",
    ):
        assert said in words


def test_a_draft_kit_says_that_its_figures_may_still_change():
    goods = catalogue()
    kit(pale_ale(goods), "KIT-1", goods)
    assert "as they would be today" in text(drawn())


def test_it_is_read_in_the_units_of_its_reader():
    goods = catalogue()
    kit(pale_ale(goods), "KIT-1", goods)
    reader = Reader(producer="F", on=READER.on, units="us", paper=Paper.LETTER)
    assert "gal" in text(drawn(reader=reader))


def test_the_same_day_gives_the_same_paper():
    goods = catalogue()
    kit(pale_ale(goods), "KIT-1", goods)
    assert drawn() == drawn()


def test_a_kit_without_figures_is_refused_with_the_reason():
    goods = catalogue()
    revision = pale_ale(goods)
    kit(revision, "KIT-1", goods)
    YeastOption.objects.filter(revision=revision).delete()
    with pytest.raises(Refusal, match="has no figures"):
        drawn()


def test_a_revision_shows_each_of_its_methods():
    pale_ale(catalogue())
    words = text(revision_drawn())
    assert "All-grain" in words
    assert "Brew day, extract with steeped grain" in words
    assert words.count("Original gravity") == 2


def test_a_revision_without_a_method_is_refused():
    draft()
    with pytest.raises(Refusal):
        revision_drawn()
