"""Errors of the API are problem documents (RFC 9457) that say what to do."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client

pytestmark = pytest.mark.urls("tests.boxwort.web.side_doors")
MEMBERS = {"type", "title", "status", "detail", "instance", "code", "remedy"}


def told(browser: Client, how: str) -> dict[str, Any]:
    answer = browser.get(f"/api/v1/fail/{how}/")
    problem: dict[str, Any] = answer.json()
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert problem["status"] == answer.status_code
    assert set(problem) >= MEMBERS
    assert all(problem[member] for member in MEMBERS)
    return problem


def test_a_refusal_keeps_its_code_its_words_and_its_figures(browser: Client) -> None:
    assert told(browser, "held") == {
        "type": "urn:problem-type:boxwort:lot-on-hold",
        "title": "Lot on hold",
        "status": 422,
        "detail": "Lot H1 is on hold.",
        "instance": "/api/v1/fail/held/",
        "code": "lot-on-hold",
        "remedy": "Release it first.",
        "facts": {"lot": "H1"},
    }


@pytest.mark.parametrize(
    ("how", "status", "code"),
    [
        ("raced", 409, "changed-by-someone-else"),
        ("gone", 404, "lot-not-found"),
        ("protected", 409, "still-in-use"),
        ("throttled", 429, "too-many-requests"),
    ],
)
def test_each_failure_has_its_status_and_code(
    browser: Client, how: str, status: int, code: str
) -> None:
    problem = told(browser, how)
    assert (problem["status"], problem["code"]) == (status, code)


def test_every_refused_field_is_pointed_at(browser: Client) -> None:
    assert told(browser, "fields")["errors"] == [
        {"pointer": "#/lines/0/quantity", "detail": "Write a number."},
        {"pointer": "#/code", "detail": "Taken."},
    ]
    assert told(browser, "whole")["errors"] == [
        {"pointer": "#", "detail": "The dates are the wrong way round."}
    ]


def test_what_is_in_the_way_is_named(browser: Client) -> None:
    assert "user" in told(browser, "protected")["detail"]


def test_a_stranger_is_told_how_to_sign_in(client: Client, db: None) -> None:
    answer = client.get("/api/v1/fail/held/")
    assert answer.status_code == 401
    assert answer.headers["WWW-Authenticate"] == "Token"
    assert answer.json()["code"] == "unauthorized"


def test_a_throttled_caller_is_told_how_long(browser: Client) -> None:
    assert browser.get("/api/v1/fail/throttled/").headers["Retry-After"] == "7"


@pytest.mark.parametrize(
    ("path", "status"), [("/api/v1/nowhere", 404), ("/api/v1/fail/fault/", 500)]
)
def test_an_api_address_never_answers_with_a_page(browser: Client, path: str, status: int) -> None:
    browser.raise_request_exception = False
    answer = browser.get(path)
    assert answer.status_code == status
    assert answer.headers["Content-Type"] == "application/problem+json"
    assert "a fault of ours" not in answer.content.decode()
