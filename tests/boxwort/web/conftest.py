"""People and browsers for the tests of the shell."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.accounts.models import User
from boxwort.roles import Role

HTMX = {"HX-Request": "true"}


@pytest.fixture
def planner(db: None) -> User:
    return User.objects.create(username="ada", first_name="Ada", role=Role.PLANNER.value)


@pytest.fixture
def browser(planner: User) -> Client:
    """Return a browser in which the planner is signed in."""
    signed_in = Client()
    signed_in.force_login(planner)
    return signed_in
