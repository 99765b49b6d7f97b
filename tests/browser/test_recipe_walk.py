"""A recipe developer types a method, sees the figures follow, comes back, saves and offers."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from django.urls import reverse

from recipes.brewing.roles import MethodKind
from recipes.models import Revision, RevisionState, TypedMethod
from tests.browser.visitor import PASSWORD, Visitor
from tests.recipes.make import catalogue, developer, pale_ale

if TYPE_CHECKING:  # without playwright these tests are skipped, not broken
    from playwright.sync_api import Page

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
OTHERS = ("yeasts-edit", "substitute-list", "substitute-approve")


@pytest.fixture
def revision(db: None) -> Revision:
    person = developer()
    person.set_password(PASSWORD)
    person.save()
    return pale_ale(catalogue())


@pytest.fixture
def visitor(revision: Revision, page: Page, live_server: Any) -> Visitor:
    page.goto(f"{live_server.url}{reverse('sign-in')}")
    page.get_by_label("Username").fill(developer().username)
    page.get_by_label("Password").fill(PASSWORD)
    arrived = Visitor(page=page, site=live_server.url)
    arrived.press("main button")
    return arrived


def figures_of(visitor: Visitor, text: str) -> None:
    """Wait until the figures that stay in sight say so."""
    visitor.page.locator("#strip", has_text=text).wait_for()


def edit(visitor: Visitor, revision: Revision) -> None:
    visitor.go("method-edit", revision.pk, "extract")


def amount_box(visitor: Visitor) -> Any:
    return visitor.page.get_by_label("Amount, row 1", exact=True)


def test_figures_follow_the_typing_which_is_there_again_and_is_saved_and_offered(
    visitor: Visitor, revision: Revision
) -> None:
    edit(visitor, revision)
    figures_of(visitor, "1.052")
    visitor.page.locator("#figures summary", has_text="Original gravity").click()
    amount_box(visitor).fill("2.5 kg")
    figures_of(visitor, "1.048")
    opened = visitor.page.locator("#figures details[open] > summary", has_text="Original gravity")
    opened.wait_for()
    visitor.sees("not saved yet")

    visitor.go("recipe-list")
    edit(visitor, revision)
    assert amount_box(visitor).input_value() == "2.5 kg"
    figures_of(visitor, "1.048")
    visitor.sees("not saved yet")

    amount_box(visitor).fill("2.7 kg")
    figures_of(visitor, "1.052")
    visitor.page.get_by_label("Boil, minutes").fill("70")
    visitor.page.locator("#typed-note", has_text="not saved yet").wait_for()
    visitor.press("button[value=save] >> nth=0")
    visitor.sees("is saved")
    assert revision.methods.get(kind=MethodKind.EXTRACT).boil_minutes == 70
    assert not TypedMethod.objects.exclude(texts={}).exists()

    visitor.press("text=Offer this revision")
    visitor.press("main button")
    visitor.sees("Frozen.")
    revision.refresh_from_db()
    assert revision.state == RevisionState.OFFERED
    assert visitor.page.get_by_text("Edit this method").count() == 0


def test_rows_are_added_and_moved_by_keys_and_the_focus_follows(
    visitor: Visitor, revision: Revision
) -> None:
    edit(visitor, revision)
    visitor.page.locator("#add-row").press("Enter")
    added = visitor.page.get_by_label("Item, row 7", exact=True)
    added.wait_for()
    assert added.evaluate("box => box === document.activeElement")
    added.fill("Gypsum (GYPSUM)")
    visitor.page.locator("#up-7").press("Enter")
    moved = visitor.page.get_by_label("Item, row 6", exact=True)
    visitor.page.locator("#lines tr:nth-child(6) [name=row][value='7']").wait_for(state="attached")
    assert moved.input_value() == "Gypsum (GYPSUM)"
    assert visitor.page.locator("#up-7").evaluate("button => button === document.activeElement")
    visitor.looked_at()


def test_the_other_pages_of_a_draft_have_no_barriers(visitor: Visitor, revision: Revision) -> None:
    visitor.go("recipe-new")
    visitor.go("recipe-revision", revision.recipe.code, revision.number)
    for name in OTHERS:
        visitor.go(name, revision.pk)
    method = revision.methods.get(kind=MethodKind.ALL_GRAIN)
    visitor.go("kit-new", method.pk)
