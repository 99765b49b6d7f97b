"""A pale ale with its kit, and people at their browsers."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.conftest import Enter
from tests.recipes.make import Catalogue, catalogue


@pytest.fixture
def goods(db: None) -> Catalogue:
    return catalogue()


@pytest.fixture
def designer(enter: Enter) -> Client:
    """Return the browser of a recipe developer."""
    return enter(Role.DEVELOPER)
