"""People for the tests of the accounts room."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import User
from boxwort.roles import Role


@pytest.fixture
def planner(db: None) -> User:
    return User.objects.create(username="ada", first_name="Ada", role=Role.PLANNER.value)


@pytest.fixture
def packer(db: None) -> User:
    return User.objects.create(username="pim", role=Role.PACKER.value)
