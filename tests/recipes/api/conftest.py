"""A program that reads the recipe room."""

from __future__ import annotations

import pytest

from boxwort.roles import Role
from tests.calling import Program


@pytest.fixture
def viewer(db: None) -> Program:
    return Program(Role.VIEWER)
