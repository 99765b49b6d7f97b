"""Programs of several people, on a day that stands still."""

from __future__ import annotations

import pytest

from boxwort.roles import Role
from tests.calling import Program
from tests.make import TODAY


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def owner(db: None) -> Program:
    return Program(Role.OWNER)


@pytest.fixture
def viewer(db: None) -> Program:
    return Program(Role.VIEWER)
