"""People of each role at their browsers, on a day that stands still."""

from __future__ import annotations

import pytest
from django.test import Client

from boxwort.roles import Role
from tests.conftest import Enter
from tests.make import TODAY


@pytest.fixture(autouse=True)
def _today(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every page believe it is the day the makers work on."""
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)


@pytest.fixture
def owner(enter: Enter) -> Client:
    return enter(Role.OWNER)
