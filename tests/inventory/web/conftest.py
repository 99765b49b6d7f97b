"""People of each role at their browsers, on a day that stands still."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.make import TODAY, user

Enter = Callable[[Role], Client]


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every page believe it is the day the makers work on."""
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def enter(db: None) -> Enter:
    """Return a way to sign somebody of a role in."""

    def signed_in(role: Role) -> Client:
        browser = Client()
        browser.force_login(user(role))
        return browser

    return signed_in


@pytest.fixture
def owner(enter: Enter) -> Client:
    return enter(Role.OWNER)


@pytest.fixture
def viewer(enter: Enter) -> Client:
    return enter(Role.VIEWER)
