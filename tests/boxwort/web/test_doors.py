"""A door lets in whoever holds its right, does a request once, and is shut if it declares none."""

from __future__ import annotations

import uuid
from collections.abc import Iterator

import pytest
from django.test import Client

from boxwort.accounts.models import User
from boxwort.roles import ROLES_WITH, Right, Role
from boxwort.web.doors import remedy_for
from tests.boxwort.web import side_doors
from tests.boxwort.web.conftest import HTMX

pytestmark = pytest.mark.urls("tests.boxwort.web.side_doors")


@pytest.fixture(autouse=True)
def done() -> Iterator[list[str]]:
    side_doors.done.clear()
    yield side_doors.done
    side_doors.done.clear()


def as_role(browser: Client, planner: User, role: Role) -> Client:
    User.objects.filter(pk=planner.pk).update(role=role.value)
    return browser


def test_the_refused_are_told_which_right_they_lack_and_whom_to_ask(
    browser: Client, planner: User
) -> None:
    answer = as_role(browser, planner, Role.VIEWER).get("/reserve/")
    assert answer.status_code == 403
    text = answer.content.decode()
    assert "the right “reserve run”" in text
    assert "Ask the owner or planner" in text


def test_somebody_who_left_opens_no_door(browser: Client, planner: User) -> None:
    User.objects.filter(pk=planner.pk).update(is_active=False)
    assert browser.get("/reserve/").status_code == 302


def test_a_remedy_names_every_role_with_the_right() -> None:
    for right in Right:
        assert all(role in remedy_for(right) for role in ROLES_WITH[right])


def test_a_form_sent_twice_is_done_once(browser: Client, done: list[str]) -> None:
    form = {"request_key": str(uuid.uuid4()), "run": "12"}
    for _ in range(2):
        answer = browser.post("/reserve/", form)
        assert (answer.status_code, answer.headers["Location"]) == (303, "/my-settings/")
    assert done == ["12"]


def test_the_same_key_for_another_run_is_refused(browser: Client, done: list[str]) -> None:
    form = {"request_key": str(uuid.uuid4()), "run": "12"}
    browser.post("/reserve/", form)
    answer = browser.post("/reserve/", {**form, "run": "13"})
    assert answer.status_code == 422
    assert done == ["12"]


@pytest.mark.parametrize("key", ["", "x" * 81, "line\nbreak"])
def test_a_form_without_a_usable_key_does_nothing(
    browser: Client, done: list[str], key: str
) -> None:
    answer = browser.post("/reserve/", {"request_key": key, "run": "12"})
    assert answer.status_code == 400
    assert done == []


def test_with_htmx_the_whole_page_goes_on(browser: Client) -> None:
    form = {"request_key": str(uuid.uuid4()), "run": "12"}
    answer = browser.post("/reserve/", form, headers=HTMX)
    assert answer.headers["HX-Redirect"] == "/my-settings/"


def test_an_api_call_sent_twice_is_done_once(browser: Client, done: list[str]) -> None:
    for written in ('"8e03978e"', "8e03978e"):
        answer = browser.post(
            "/api/v1/reserve/",
            {"run": 12},
            content_type="application/json",
            headers={"Idempotency-Key": written},
        )
        assert (answer.status_code, answer.json()) == (201, {"times": 1})
    assert done == ["api"]


def test_an_api_call_without_a_key_is_told_to_send_one(browser: Client, done: list[str]) -> None:
    answer = browser.post("/api/v1/reserve/", {"run": 12}, content_type="application/json")
    assert answer.status_code == 400
    assert answer.json()["code"] == "request-key-missing"
    assert "Idempotency-Key" in answer.json()["remedy"]
    assert done == []


def test_each_method_of_an_operation_asks_for_its_own_right(browser: Client, planner: User) -> None:
    viewer = as_role(browser, planner, Role.VIEWER)
    assert viewer.get("/api/v1/reserve/").status_code == 200
    refused = viewer.post("/api/v1/reserve/", {}, content_type="application/json")
    assert refused.status_code == 403
    assert "reserve run" in refused.json()["detail"]


def test_an_operation_that_declares_no_right_is_closed_to_the_owner_too(
    browser: Client, planner: User
) -> None:
    owner = as_role(browser, planner, Role.OWNER)
    assert owner.get("/api/v1/undeclared/").status_code == 403
