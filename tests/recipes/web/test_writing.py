"""A recipe is begun and changed, its yeasts written, a new revision started, one retired."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from recipes.models import Recipe, Revision, RevisionState
from recipes.services.styles import write_style
from tests.recipes.make import Catalogue, developer, draft, offered, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, words_of

RANGES = {
    f"{figure}_{end}": value
    for figure, low, high in (
        ("og", 1.04, 1.06),
        ("fg", 1.008, 1.014),
        ("abv", 4.0, 6.0),
        ("ibu", 20.0, 50.0),
        ("srm", 4.0, 10.0),
    )
    for end, value in (("min", low), ("max", high))
}


def test_a_recipe_begins_with_an_empty_draft(designer: Client) -> None:
    for _ in range(2):
        answer = send(designer, "recipe-new", key="once", code="new-ale", name="New", style="Any")
        assert answer.status_code == 303
    recipe = Recipe.objects.get()
    assert (recipe.code, recipe.style) == ("NEW-ALE", "Any")
    assert recipe.revisions.get().state == RevisionState.DRAFT
    text = words_of(designer.get(answer.headers["Location"]))
    for words in ("Write it as all-grain", "Write it as extract", "Yeasts"):
        assert words in text


def test_the_styles_that_are_known_are_offered(designer: Client) -> None:
    write_style(by=developer(), code="TABLE", name="Pale table ale", ranges=RANGES)
    assert 'value="Pale table ale"' in read(designer, "recipe-new")


def test_a_code_that_is_taken_is_refused_and_changes_nothing(designer: Client) -> None:
    draft()
    answer = send(designer, "recipe-new", code="PALE-ALE", name="Other")
    assert answer.status_code == 422
    assert "already" in words_of(answer)
    assert Recipe.objects.get().name == "Ridge Pale"


@pytest.mark.parametrize("code", ["", "no spaces", "ü"])
def test_a_code_that_no_label_bears_is_refused(designer: Client, code: str) -> None:
    assert send(designer, "recipe-new", code=code, name="New").status_code == 422
    assert not Recipe.objects.exists()


def test_what_is_said_of_a_recipe_is_changed(designer: Client) -> None:
    recipe = draft().recipe
    assert 'value="Ridge Pale"' in read(designer, "recipe-edit", "PALE-ALE")
    said = {"name": "Ridge Gold", "style": "Golden ale", "notes": "", "version": recipe.version}
    assert send(designer, "recipe-edit", "PALE-ALE", **said).status_code == 303
    recipe.refresh_from_db()
    assert (recipe.code, recipe.name, recipe.style) == ("PALE-ALE", "Ridge Gold", "Golden ale")
    assert send(designer, "recipe-edit", "PALE-ALE", **said | {"name": "X"}).status_code == 409


def test_the_yeasts_of_a_draft_are_written_in_their_order(
    designer: Client, goods: Catalogue
) -> None:
    revision = draft()
    named = {"yeast-1": "DRY-ALE", "yeast-2": str(goods.ale_yeast), "yeast-3": ""}
    answer = send(designer, "yeasts-edit", revision.pk, version=revision.version, **named)
    assert answer.status_code == 303
    assert [each.item.code for each in revision.yeasts.all()] == ["DRY-ALE", "ALE"]
    assert "Dry-Ale (DRY-ALE)" in read(designer, "yeasts-edit", revision.pk)


@pytest.mark.parametrize(
    ("named", "words"),
    [({"yeast-1": "PALE"}, "No item is called"), ({"yeast-1": "ALE", "yeast-2": "ALE"}, "twice")],
)
def test_what_is_no_yeast_is_refused(
    designer: Client, goods: Catalogue, named: dict[str, str], words: str
) -> None:
    revision = draft()
    answer = send(designer, "yeasts-edit", revision.pk, version=revision.version, **named)
    assert answer.status_code == 422
    assert words in words_of(answer)


def test_a_new_revision_begins_as_a_copy_for_a_reason(designer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    assert "stays as it is" in read(designer, "revision-start", "PALE-ALE")
    assert send(designer, "revision-start", "PALE-ALE").status_code == 422
    answer = send(designer, "revision-start", "PALE-ALE", reason="Less crystal")
    assert answer.status_code == 303
    text = words_of(designer.get(answer.headers["Location"]))
    for words in ("Revision 2 ", "Less crystal", "Edit this method", "Draft the extract twin"):
        assert words in text
    revision.refresh_from_db()
    assert revision.state == RevisionState.OFFERED


def test_an_offered_revision_is_frozen_on_its_page(designer: Client, goods: Catalogue) -> None:
    revision = offered(pale_ale(goods))
    text = read(designer, "recipe-revision", "PALE-ALE", 1)
    for words in ("Frozen.", revision.content_hash, "by robin", "Start a new revision", "Retire"):
        assert words in text
    assert "Edit this method" not in text
    for door in ("yeasts-edit", "substitute-approve"):
        assert "can no longer change" in read(designer, door, revision.pk, expect=422)


def test_an_offered_revision_is_retired_once_that_is_confirmed(
    designer: Client, goods: Catalogue
) -> None:
    revision = offered(pale_ale(goods))
    assert "cannot be undone" in read(designer, "revision-retire", revision.pk)
    for _ in range(2):
        answer = send(
            designer, "revision-retire", revision.pk, key="once", version=revision.version
        )
        assert answer.status_code == 303
    assert Revision.objects.get().state == RevisionState.RETIRED
    assert "It is retired" in read(designer, "recipe-revision", "PALE-ALE", 1)


def test_a_draft_is_not_retired(designer: Client, goods: Catalogue) -> None:
    revision = pale_ale(goods)
    answer = send(designer, "revision-retire", revision.pk, version=revision.version)
    assert answer.status_code == 422


def test_who_only_reads_is_shown_no_way_to_write(enter: Enter, goods: Catalogue) -> None:
    pale_ale(goods)
    text = read(enter(Role.VIEWER), "recipe-revision", "PALE-ALE", 1)
    for words in ("Edit this method", "Start a new revision", "Draft the", "New kit"):
        assert words not in text
    assert "New recipe" not in read(enter(Role.VIEWER), "recipe-list")


def test_twins_are_shown_side_by_side_with_their_limits(viewer: Client, goods: Catalogue) -> None:
    pale_ale(goods)
    text = read(viewer, "recipe-revision", "PALE-ALE", 1)
    for words in ("Within", "Limit", "the same beer", "0.0020"):
        assert words in text
