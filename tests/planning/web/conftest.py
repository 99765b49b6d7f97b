"""A store, people and their browsers, on a day that stands still."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.make import person
from tests.planning.make import TODAY, Store, store


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every page believe it is the day the makers work on."""
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def house(db: None) -> Store:
    return store()


@pytest.fixture
def signed_in(db: None) -> Callable[[Role], Client]:
    """Return a browser in which a person of a role is signed in."""

    def browser(role: Role) -> Client:
        someone = person(f"a-{role}", role.value)
        client = Client()
        client.force_login(someone)
        return client

    return browser


@pytest.fixture
def planner(signed_in: Callable[[Role], Client]) -> Client:
    return signed_in(Role.PLANNER)


@pytest.fixture
def packer(signed_in: Callable[[Role], Client]) -> Client:
    return signed_in(Role.PACKER)
