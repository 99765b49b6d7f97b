"""A probe learns whether the site lives and is ready, and strangers learn no more."""

from __future__ import annotations

import logging

import pytest
from django.db import OperationalError
from django.test import Client
from django.urls import reverse

from boxwort.web import health


@pytest.fixture
def checks(monkeypatch: pytest.MonkeyPatch) -> dict[str, health.Check]:
    """Return a board of checks of this test's own."""
    board: dict[str, health.Check] = {}
    monkeypatch.setattr(health, "_checks", board)
    return board


def test_a_site_that_is_well_is_ready(
    client: Client, db: None, checks: dict[str, health.Check]
) -> None:
    health.register("triggers", lambda: "")
    answer = client.get(reverse("health-ready"))
    assert (answer.status_code, answer.json()) == (200, {"status": "ok", "failing": []})


def test_what_is_wrong_is_named_and_its_detail_goes_to_the_log(
    client: Client, db: None, checks: dict[str, health.Check], caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.ERROR)
    health.register("triggers", lambda: "move_update is missing")
    answer = client.get(reverse("health-ready"))
    assert (answer.status_code, answer.json()["failing"]) == (503, ["triggers"])
    assert "move_update" not in answer.content.decode()
    assert "move_update is missing" in caplog.text


def test_a_database_that_does_not_answer_is_not_ready_but_alive(
    client: Client, db: None, checks: dict[str, health.Check]
) -> None:
    def gone() -> str:
        raise OperationalError("connection refused")

    health.register("triggers", gone)
    assert client.get(reverse("health-ready")).json()["failing"] == ["database"]
    assert client.get(reverse("health-live")).status_code == 200


def test_an_answer_is_never_kept(client: Client, db: None) -> None:
    assert "no-store" in client.get(reverse("health-live")).headers["Cache-Control"]
