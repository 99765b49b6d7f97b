"""A day that stands still: what has expired and what is late depends on it."""

from __future__ import annotations

import pytest

from tests.planning.make import TODAY


@pytest.fixture
def today_stands_still(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let everything believe it is the day the makers work on."""
    monkeypatch.setattr("django.utils.timezone.localdate", lambda *_, **__: TODAY)
