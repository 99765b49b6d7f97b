"""Tests with real transactions empty the tables behind them; the guards step aside for that.

Only the flush of a transactional test meets the triggers: every other test rolls back. After the
flush Django sends post_migrate, which puts the guards and the fixed rows back.
"""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from django.db import connections
from django.test import TransactionTestCase

from inventory.models.guards import drop_guards


@pytest.fixture(autouse=True, scope="session")
def _guards_step_aside_for_flush() -> Iterator[None]:
    flush = TransactionTestCase._fixture_teardown

    def drop_and_flush(case: TransactionTestCase) -> None:
        for using in case._databases_names(include_mirrors=False):
            if not connections[using].in_atomic_block:
                drop_guards(using)
        flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, "_fixture_teardown", drop_and_flush)
        yield
