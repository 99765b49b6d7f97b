"""A program signs in with a name and a password, or with the token it was given."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest
from django.conf import settings
from django.core.cache import cache
from django.test import Client
from django.urls import reverse

from boxwort.accounts.models import User
from boxwort.accounts.queries import history_of
from boxwort.accounts.tokens import make_token
from boxwort.roles import Role
from boxwort.web.tokens_api import SignInThrottle
from tests.make import user

PASSWORD = "barley and a long morning"


@pytest.fixture(autouse=True)
def _tries_forgotten() -> Iterator[None]:
    cache.clear()
    yield
    cache.clear()


@pytest.fixture
def person(planner: User) -> User:
    planner.set_password(PASSWORD)
    planner.save()
    return planner


def sign_in(client: Client, password: str = PASSWORD, **more: Any) -> Any:
    body = {"username": "ada", "password": password, **more}
    return client.post(reverse("api-token"), body, content_type="application/json")


def code_of(answer: Any) -> str:
    assert answer.headers["Content-Type"] == "application/problem+json"
    return str(answer.json()["code"])


def revoke(token: str) -> Any:
    return Client().delete(reverse("api-token"), headers={"Authorization": f"Token {token}"})


def with_token(token: str) -> Any:
    headers = {"Authorization": f"Token {token}"}
    return Client().get(reverse("api-job-list"), headers=headers)


def test_a_name_and_a_password_give_the_token_that_opens_doors(
    client: Client, person: User
) -> None:
    token = sign_in(client).json()["token"]
    assert sign_in(client).json()["token"] == token
    assert with_token(token).status_code == 200


def test_a_wrong_password_gives_none(client: Client, person: User) -> None:
    answer = sign_in(client, "oats")
    assert (answer.status_code, code_of(answer)) == (403, "sign-in-refused")
    nobody = sign_in(client, username="nobody")
    assert nobody.json()["detail"] == answer.json()["detail"]


def test_what_is_missing_is_pointed_at(client: Client, db: None) -> None:
    answer = client.post(reverse("api-token"), {}, content_type="application/json")
    assert answer.status_code == 400
    assert {each["pointer"] for each in answer.json()["errors"]} == {"#/username", "#/password"}
    assert client.get(reverse("api-token")).status_code == 405


def test_guessing_locks_the_name_even_for_the_right_password(client: Client, person: User) -> None:
    answers = [sign_in(client, "a guess") for _ in range(settings.AXES_FAILURE_LIMIT)]
    assert code_of(answers[0]) == "sign-in-refused"
    locked = sign_in(client)
    assert (locked.status_code, code_of(locked)) == (429, "sign-in-locked")


def test_an_address_that_tries_too_often_is_told_to_wait(
    client: Client, db: None, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(SignInThrottle, "rate", "2/min")
    names = ("one", "two", "three")
    answers = [sign_in(client, username=name) for name in names]
    assert [answer.status_code for answer in answers] == [403, 403, 429]
    assert code_of(answers[-1]) == "too-many-requests"
    assert 0 < int(answers[-1].headers["Retry-After"]) <= 60


def test_somebody_who_left_signs_in_no_more(client: Client, person: User) -> None:
    token = make_token(by=person)
    person.is_active = False
    person.save()
    assert sign_in(client).status_code == 403
    assert with_token(token).status_code == 401


@pytest.mark.parametrize("role", Role)
def test_a_program_revokes_the_token_it_signed_in_with(person: User, role: Role) -> None:
    token = make_token(by=user(role))
    other = make_token(by=person)
    answer = revoke(token)
    assert (answer.status_code, answer.content) == (204, b"")
    assert with_token(token).status_code == 401
    assert with_token(other).status_code == 200
    again = revoke(token)
    assert (again.status_code, code_of(again)) == (401, "unauthorized")


def test_a_stranger_revokes_nothing(client: Client, person: User) -> None:
    token = make_token(by=person)
    answer = client.delete(reverse("api-token"))
    assert (answer.status_code, code_of(answer)) == (401, "unauthorized")
    assert with_token(token).status_code == 200


def test_a_browser_session_revokes_its_token_as_often_as_it_likes(person: User) -> None:
    token = make_token(by=person)
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(person)
    assert browser.delete(reverse("api-token")).status_code == 403
    browser.get(reverse("my-settings"))
    safe = {"X-CSRFToken": browser.cookies["csrftoken"].value}
    for _ in range(2):
        assert browser.delete(reverse("api-token"), headers=safe).status_code == 204
    assert with_token(token).status_code == 401


def test_a_revoked_token_is_no_hindrance_to_signing_in_again(client: Client, person: User) -> None:
    old = make_token(by=person)
    revoke(old)
    body = {"username": "ada", "password": PASSWORD}
    answer = client.post(
        reverse("api-token"),
        body,
        content_type="application/json",
        headers={"Authorization": f"Token {old}"},
    )
    assert with_token(answer.json()["token"]).status_code == 200


def test_a_browser_session_opens_doors_and_writes_with_its_security_token(person: User) -> None:
    browser = Client(enforce_csrf_checks=True)
    browser.force_login(person)
    assert browser.get(reverse("api-job-list")).status_code == 200
    key = {"Idempotency-Key": "one"}
    url = reverse("api-rebalance")
    refused = browser.post(url, {}, content_type="application/json", headers=key)
    assert (refused.status_code, code_of(refused)) == (403, "forbidden")
    browser.get(reverse("my-settings"))
    key["X-CSRFToken"] = browser.cookies["csrftoken"].value
    done = browser.post(url, {}, content_type="application/json", headers=key)
    assert done.status_code == 202


def test_a_person_makes_replaces_and_revokes_their_token(browser: Client, planner: User) -> None:
    def token_of(answer: Any) -> str:
        assert "no-store" in answer.headers["Cache-Control"]
        return str(answer.context["token"])

    assert "Make a token" in browser.get(reverse("my-settings")).content.decode()
    first = token_of(browser.post(reverse("my-token-make")))
    assert with_token(first).status_code == 200
    page = browser.get(reverse("my-settings")).content.decode()
    assert first not in page
    assert first[-4:] in page
    second = token_of(browser.post(reverse("my-token-make")))
    assert with_token(first).status_code == 401
    assert with_token(second).status_code == 200
    browser.post(reverse("my-token-revoke"))
    assert with_token(second).status_code == 401


def test_the_history_of_a_token_holds_no_token(browser: Client, planner: User) -> None:
    token = str(browser.post(reverse("my-token-make")).context["token"])
    browser.post(reverse("my-token-revoke"))
    browser.post(reverse("my-token-revoke"))
    entries = history_of("accounts.user", planner.pk)
    assert [entry.action for entry in entries] == ["revoke token", "make token"]
    assert token not in str([(entry.before, entry.after) for entry in entries])
