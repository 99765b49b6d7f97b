"""A revision and a kit are offered, each once that is confirmed."""

from __future__ import annotations

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import Role
from recipes.models import Kit, Revision
from tests.recipes.make import Catalogue, draft, kit, offered, pale_ale
from tests.recipes.web.conftest import Enter
from tests.visits import read, send, words_of

DOORS = ["revision-offer", "kit-offer"]


def thing(door: str, goods: Catalogue) -> Revision | Kit:
    """Return what a door offers, ready to be offered."""
    revision = pale_ale(goods)
    return revision if door == "revision-offer" else kit(offered(revision), "KIT-A", goods)


@pytest.mark.parametrize("door", DOORS)
def test_it_is_offered_once_that_is_confirmed(
    designer: Client, goods: Catalogue, door: str
) -> None:
    ready = thing(door, goods)
    assert "cannot be undone" in read(designer, door, ready.pk)
    for _ in range(2):
        answer = send(designer, door, ready.pk, key="once", version=ready.version)
        assert answer.status_code == 303
    page = answer.headers["Location"]
    assert "Offered" in words_of(designer.get(page))


def test_a_draft_with_obstacles_is_not_offered(designer: Client) -> None:
    revision = draft()
    answer = send(designer, "revision-offer", revision.pk, version=revision.version)
    assert answer.status_code == 422
    assert "note-error" in words_of(answer)


def test_a_kit_of_a_draft_is_not_offered(designer: Client, goods: Catalogue) -> None:
    made = kit(pale_ale(goods), "KIT-A", goods)
    answer = send(designer, "kit-offer", made.pk, version=made.version)
    assert answer.status_code == 422
    assert "Offer the revision first" in words_of(answer)


@pytest.mark.parametrize("door", DOORS)
def test_what_was_changed_since_is_not_offered(
    designer: Client, goods: Catalogue, door: str
) -> None:
    ready = thing(door, goods)
    answer = send(designer, door, ready.pk, version=ready.version + 1)
    assert answer.status_code == 409


@pytest.mark.parametrize("door", DOORS)
def test_a_form_without_a_version_is_shown_again(
    designer: Client, goods: Catalogue, door: str
) -> None:
    assert send(designer, door, thing(door, goods).pk).status_code == 422


@pytest.mark.parametrize("door", DOORS)
def test_a_planner_offers_nothing(enter: Enter, goods: Catalogue, door: str) -> None:
    ready = thing(door, goods)
    answer = send(enter(Role.PLANNER), door, ready.pk, version=ready.version)
    assert answer.status_code == 403


@pytest.mark.parametrize("door", DOORS)
def test_what_is_not_there_is_not_offered(designer: Client, door: str) -> None:
    assert send(designer, door, 999_999, version=1).status_code == 404


@pytest.mark.parametrize("door", DOORS)
def test_an_offer_is_not_deleted(designer: Client, goods: Catalogue, door: str) -> None:
    answer = designer.delete(reverse(door, args=[thing(door, goods).pk]))
    assert answer.status_code == 405
