"""One person of each role, for asking at doors."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.make import person


@pytest.fixture
def visitors(db: None) -> dict[Role, Client]:
    """Return a signed-in browser for each role; a fault of the site is an answer of 500."""
    return {role: _signed_in(role) for role in Role}


@pytest.fixture
def owner(db: None) -> Client:
    """Return the browser of somebody who may do everything, like those of `visitors`."""
    return _signed_in(Role.OWNER)


def _signed_in(role: Role) -> Client:
    browser = Client(raise_request_exception=False)
    browser.force_login(person(f"a {role}", role.value))
    return browser
