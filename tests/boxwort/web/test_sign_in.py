"""People sign in by password or once by link; guessing is stopped."""

from __future__ import annotations

import logging
from urllib.parse import parse_qs, urlsplit

import pytest
from django.conf import settings
from django.test import Client
from django.urls import reverse

from boxwort.accounts.models import User
from boxwort.accounts.one_time import make_one_time_link

PHRASE = "barley and a long morning"


@pytest.fixture
def registered(planner: User) -> User:
    planner.set_password(PHRASE)
    planner.save()
    return planner


def sign_in(client: Client, password: str, to: str = "") -> tuple[int, str]:
    form = {"username": "ada", "password": password, "next": to}
    answer = client.post(reverse("sign-in"), form)
    return answer.status_code, answer.headers.get("Location", "")


def test_the_right_password_leads_to_today(client: Client, registered: User) -> None:
    assert sign_in(client, PHRASE) == (302, reverse("today"))


def test_signing_in_leads_back_to_the_page_asked_for_and_never_elsewhere(
    client: Client, registered: User
) -> None:
    assert sign_in(client, PHRASE, "/jobs/") == (302, "/jobs/")
    assert sign_in(client, PHRASE, "https://elsewhere.example/") == (302, reverse("today"))


def test_guessing_is_stopped_for_a_while_even_with_the_right_password(
    client: Client, registered: User
) -> None:
    for _ in range(settings.AXES_FAILURE_LIMIT):
        sign_in(client, "a guess")
    answer = client.post(reverse("sign-in"), {"username": "ada", "password": PHRASE})
    assert answer.status_code == 429
    assert "Too many tries" in answer.content.decode()


def test_signing_out_takes_a_form_and_not_a_link(browser: Client) -> None:
    assert browser.get(reverse("sign-out")).status_code == 405
    assert browser.post(reverse("sign-out")).status_code == 302
    assert browser.get("/jobs/").status_code == 302


def test_a_link_is_not_spent_by_fetching_it(client: Client, planner: User) -> None:
    link = make_one_time_link(planner)
    token = parse_qs(urlsplit(link).query)["token"][0]
    for _ in range(2):
        assert "Ada" in client.get(link).content.decode()
    assert client.post(reverse("one-time-sign-in"), {"token": token}).status_code == 302
    assert client.get("/jobs/").status_code == 200
    stranger = Client()
    assert stranger.post(reverse("one-time-sign-in"), {"token": token}).status_code == 422
    assert stranger.get(link).status_code == 422


def test_a_token_is_in_no_log(
    client: Client, planner: User, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    link = make_one_time_link(planner)
    token = parse_qs(urlsplit(link).query)["token"][0]
    client.get(link)
    for _ in range(2):
        client.post(reverse("one-time-sign-in"), {"token": token})
        client.get(link)
    spoken = [record for record in caplog.records if record.name != "django.db.backends"]
    assert spoken
    assert not [record for record in spoken if token in record.getMessage()]
