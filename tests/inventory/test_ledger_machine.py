"""Whatever people do to stock, in whatever order, the books stay right."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import HealthCheck, settings
from hypothesis.stateful import (
    run_state_machine_as_test,
)

from inventory.models import (
    Ending,
    PostingKind,
)
from inventory.services import lots
from tests.inventory.ledger_machine import SEEN, Ledger


def _check(ledger: Ledger) -> None:
    ledger.books_are_right()
    ledger.nothing_written_ever_changes()
    ledger.every_gram_is_accounted_for()
    ledger.nothing_is_used_before_receipt_or_after_expiry()


@pytest.mark.django_db
def test_a_day_on_which_everything_happens_once_leaves_the_books_right():
    ledger = Ledger()
    first, second, kits = ledger.first_lots
    steps: list[Callable[[], Any]] = [
        lambda: ledger.move(first, 20, "ROOM", "COLD", 0),
        lambda: ledger.ship(kits, 1, "where it lies", 1),
        lambda: ledger.reverse(2, None),
        lambda: ledger.ship(second, 95, "where it lies", 0),
        lambda: ledger.scrap(second, 3, "where it lies", PostingKind.WASTE),
        lambda: ledger.scrap(second, 2, "where it lies", PostingKind.SAMPLE),
        lambda: ledger.reverse(0, None),
        lambda: ledger.repeat(1),
        lambda: ledger.reuse_a_key(1),
        lambda: ledger.count(second, True, 45, "where it lies"),
        lambda: ledger.give_back(ledger.first_work, None),
        lambda: ledger.judge(second, lots.reject_lot, 0),
        lambda: ledger.reserve(0, True, [(second, 1, "malt-1", 1)]),
        lambda: ledger.reserve(0, True, [(first, 150, "malt-1", 1)]),
        lambda: ledger.ship(first, 1, "where it lies", 9),
        lambda: ledger.cancel(ledger.first_work),
    ]
    SEEN.clear()
    for step in steps:
        step()
        _check(ledger)
    ledger.teardown()
    kinds = set(PostingKind) - {PostingKind.OPENING, PostingKind.GIVEN_AWAY}
    refusals = {"lot-not-released", "not-enough-available", "lot-expired", "output-used"}
    assert set(SEEN) >= {*kinds, Ending.USED, Ending.RELEASED, Ending.LOST, *refusals}


@pytest.mark.django_db
def test_the_books_stay_right_whatever_is_done():
    SEEN.clear()
    run_state_machine_as_test(
        Ledger,
        settings=settings(
            max_examples=40,
            stateful_step_count=25,
            derandomize=True,
            database=None,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
    assert SEEN["posted at random"] > 100
    assert SEEN["refused"] > 100
