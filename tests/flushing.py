"""Tests with real transactions empty the tables behind them; the guards step aside for that.

Only the flush of a transactional test meets the triggers: every other test rolls back. After the
flush Django sends post_migrate, which puts the guards and the fixed rows back.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from django.db import connections
from django.test import TransactionTestCase

from inventory.models.guards import drop_guards

TEARDOWN = "_fixture_teardown"


@pytest.fixture(autouse=True, scope="session")
def _guards_step_aside_for_flush() -> Iterator[None]:
    flush: Callable[[TransactionTestCase], None] = getattr(TransactionTestCase, TEARDOWN)

    def drop_and_flush(case: TransactionTestCase) -> None:
        for using in connections:
            drop_guards(using)
        flush(case)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(TransactionTestCase, TEARDOWN, drop_and_flush)
        yield
