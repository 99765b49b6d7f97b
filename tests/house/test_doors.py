"""Every door of the site is asked the same questions: who may, who may not, is it there."""

from __future__ import annotations

import re
from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.roles import ROLES_WITH, Right, Role
from boxwort.web.context import MENU
from tests.house.walk import PUBLIC, Door, doors

DOORS = doors()
GUARDED = [door for door in DOORS if not door.is_public]
ASKED = [
    pytest.param(door, method, right, id=f"{method} {door.name}")
    for door in GUARDED
    for method, right in door.rights.items()
]
INLINE = re.compile(rb"<style|\sstyle=|\son[a-z]+=|<script(?![^>]*\ssrc=)", re.IGNORECASE)


def ask(browser: Client, door: Door, method: str) -> Any:
    if door.is_api:
        return browser.generic(method, door.url, "{}", content_type="application/json")
    return browser.generic(method, door.url)


@pytest.mark.parametrize(("door", "method", "right"), ASKED)
def test_every_door_names_a_right(door: Door, method: str, right: Right | None) -> None:
    assert right in Right, f"{door.name} ({door.url}) declares no right for {method}"


@pytest.mark.parametrize("door", GUARDED, ids=lambda door: door.name)
def test_every_door_answers_to_some_method(door: Door) -> None:
    assert door.rights


@pytest.mark.parametrize(("door", "method", "right"), ASKED)
def test_a_door_opens_for_the_roles_with_its_right_and_no_other(
    visitors: dict[Role, Client], door: Door, method: str, right: Right
) -> None:
    for role, browser in visitors.items():
        status = ask(browser, door, method).status_code
        opened = status != 403
        assert opened == (role in ROLES_WITH[right]), f"{role} got {status}"
        assert status < 500, f"{role} got {status}"


@pytest.mark.parametrize(("door", "method", "right"), ASKED)
def test_a_stranger_is_sent_to_sign_in(
    client: Client, db: None, door: Door, method: str, right: Right
) -> None:
    answer = ask(client, door, method)
    if door.is_api:
        assert answer.status_code == 401
        assert answer.headers["Content-Type"] == "application/problem+json"
    else:
        assert answer.status_code == 302
        assert answer.headers["Location"].startswith(reverse("sign-in"))


@pytest.mark.parametrize(
    "door",
    [door for door in GUARDED if door.names_a_thing and "GET" in door.rights],
    ids=lambda door: door.name,
)
def test_a_thing_that_is_not_there_is_not_found(owner: Client, door: Door) -> None:
    assert owner.get(door.url).status_code == 404


@pytest.mark.parametrize("door", GUARDED, ids=lambda door: door.name)
def test_a_method_the_door_does_not_know_is_refused(owner: Client, door: Door) -> None:
    answer = owner.generic("TRACE" if door.is_api else "DELETE", door.url)
    assert answer.status_code == 405
    assert set(answer.headers["Allow"].split(", ")) >= set(door.rights)


@pytest.mark.parametrize(
    "door",
    [door for door in GUARDED if "GET" in door.rights and not door.names_a_thing],
    ids=lambda door: door.name,
)
def test_a_page_carries_no_inline_style_or_script(owner: Client, door: Door) -> None:
    answer = owner.get(door.url)
    if answer.headers["Content-Type"].startswith("text/html"):
        assert not INLINE.search(answer.content)


def test_only_these_doors_are_open_to_strangers() -> None:
    pages = {
        door.name
        for door in DOORS
        if not door.is_api and not getattr(door.view, "login_required", True)
    }
    operations = {door.name for door in DOORS if door.is_api and None in door.rights.values()}
    assert pages | operations == PUBLIC


def test_no_two_doors_share_a_name_or_an_address() -> None:
    names = [door.name for door in DOORS]
    urls = [door.url for door in DOORS]
    assert sorted(set(names)) == sorted(names)
    assert sorted(set(urls)) == sorted(urls)


@pytest.mark.parametrize(("area", "label", "name", "right"), MENU)
def test_every_place_in_the_menu_exists_and_asks_for_the_right_that_shows_it(
    area: str, label: str, name: str, right: Right
) -> None:
    door = next(door for door in DOORS if door.name == name)
    assert door.rights["GET"] is right
