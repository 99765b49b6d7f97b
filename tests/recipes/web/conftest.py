"""A pale ale with its kit, and people at their browsers."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.make import user
from tests.recipes.make import Catalogue, catalogue

Enter = Callable[[Role], Client]


@pytest.fixture
def goods(db: None) -> Catalogue:
    return catalogue()


@pytest.fixture
def enter(db: None) -> Enter:
    """Return a way to sign somebody of a role in."""

    def signed_in(role: Role) -> Client:
        browser = Client()
        browser.force_login(user(role))
        return browser

    return signed_in


@pytest.fixture
def viewer(enter: Enter) -> Client:
    return enter(Role.VIEWER)


@pytest.fixture
def designer(enter: Enter) -> Client:
    """Return the browser of a recipe developer."""
    return enter(Role.DEVELOPER)
