"""The list of recipes, and one recipe with its methods side by side."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from recipes.services.recipes import start_revision, write_recipe
from tests.recipes.make import Catalogue, developer, draft, kit, offered, offered_kit, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, statements


@pytest.mark.parametrize("role", list(Role))
def test_everybody_reads_the_recipes(enter: Enter, goods: Catalogue, role: Role) -> None:
    offered(pale_ale(goods))
    text = read(enter(role), "recipe-list")
    assert "Ridge Pale" in text
    assert "Revision 1" in text


def test_an_empty_book_says_what_to_do(viewer: Client) -> None:
    assert "Import a workbook" in read(viewer, "recipe-list")


def test_the_methods_of_a_recipe_stand_side_by_side(viewer: Client, goods: Catalogue) -> None:
    pale_ale(goods)
    text = read(viewer, "recipe-detail", "PALE-ALE")
    for words in (
        "All-grain",
        "Extract with steeped grain",
        "Original gravity",
        "sum of the additions",  # the working of the bitterness
        "Takes the difference",
        "Keeps its weight",
        "at 8.0 %",
        "4.400 kg",
        "Dry-Ale",
    ):
        assert words in text


def test_lines_are_read_in_the_order_of_the_brew_day(viewer: Client, goods: Catalogue) -> None:
    pale_ale(goods)
    text = read(viewer, "recipe-detail", "PALE-ALE")
    extract = text[text.index('id="method-extract"') :]
    places = [extract.index(f">{use}") for use in ("Steep", "Boil", "Dry hop")]
    assert places == sorted(places)
    assert extract.index("60 min") < extract.index("15 min")


def test_an_offered_revision_says_that_it_is_frozen(designer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    text = read(designer, "recipe-detail", "PALE-ALE")
    assert "Its figures are frozen" in text
    assert reverse("revision-offer", args=[revision.pk]) not in text


def test_a_draft_says_what_keeps_it_from_being_offered(designer: Client) -> None:
    draft()
    assert "cannot be offered yet" in read(designer, "recipe-detail", "PALE-ALE")


def test_a_recipe_without_a_revision_says_so(viewer: Client) -> None:
    write_recipe(by=developer(), code="NEW", name="New")
    assert "no revision yet" in read(viewer, "recipe-detail", "NEW")


def test_an_older_revision_can_be_chosen(viewer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    start_revision(by=developer(), recipe=revision.recipe, reason="less crystal")
    assert "less crystal" in read(viewer, "recipe-detail", "PALE-ALE")
    assert "Revision 2 <" in read(viewer, "recipe-revision", "PALE-ALE", 2)
    assert "Revision 1 <" in read(viewer, "recipe-revision", "PALE-ALE", 1)


def test_the_kits_of_a_recipe_are_named(viewer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    offered_kit(revision, "KIT-A", goods)
    kit(revision, "KIT-B", goods)
    kit(offered(pale_ale(goods, "OTHER-ALE")), "KIT-C", goods)
    text = read(viewer, "recipe-detail", "PALE-ALE")
    assert ("KIT-A" in text, "KIT-B" in text, "KIT-C" in text) == (True, True, False)


def test_a_recipe_or_revision_that_is_not_there_is_not_found(
    viewer: Client, goods: Catalogue
) -> None:
    read(viewer, "recipe-detail", "NONE", expect=404)
    pale_ale(goods)
    read(viewer, "recipe-revision", "PALE-ALE", 9, expect=404)


def test_the_pages_of_recipes_are_not_forms(designer: Client) -> None:
    draft()
    assert send(designer, "recipe-list").status_code == 405
    assert send(designer, "recipe-detail", "PALE-ALE").status_code == 405
    assert send(designer, "recipe-revision", "PALE-ALE", 1).status_code == 405


def test_thirty_recipes_are_listed_in_as_many_statements_as_three(viewer: Client) -> None:
    read(viewer, "recipe-list")
    for number in range(3):
        draft(f"ALE-{number}")
    three = statements(viewer, "recipe-list")
    for number in range(3, 30):
        draft(f"ALE-{number}")
    assert statements(viewer, "recipe-list") == three


def test_a_recipe_of_thirty_kits_takes_as_many_statements_as_one_of_three(
    viewer: Client, goods: Catalogue
) -> None:
    revision = offered(pale_ale(goods))
    for number in range(3):
        kit(revision, f"KIT-{number}", goods)
    three = statements(viewer, "recipe-detail", "PALE-ALE")
    for number in range(3, 30):
        kit(revision, f"KIT-{number}", goods)
    assert statements(viewer, "recipe-detail", "PALE-ALE") == three
