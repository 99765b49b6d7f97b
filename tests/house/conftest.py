"""One person of each role, for asking at doors."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.make import person


@pytest.fixture
def visitors(db: None) -> dict[Role, Client]:
    """Return a signed-in browser for each role; a fault of the site is an answer of 500."""
    browsers = {}
    for role in Role:
        browsers[role] = Client(raise_request_exception=False)
        browsers[role].force_login(person(f"a {role}", role.value))
    return browsers
