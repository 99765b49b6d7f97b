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
    WORKS,
    Ending,
    PostingKind,
)
from inventory.queries.verify import stock_differences
from inventory.services import lots
from inventory.services.repacking import mill_lot, repack_lot
from tests.inventory.ledger_machine import SEEN, Ledger
from tests.inventory.works_machine import Workshop


def _check(ledger: Ledger) -> None:
    for holds in ledger.rules_of_the_books():
        holds()
    assert stock_differences() == []


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
def test_a_day_of_every_work_on_lots_leaves_the_books_right():
    shop = Workshop()
    first, second, kits = shop.first_lots
    where = ("where it lies", "COLD", 0, "spilt")
    steps: list[Callable[[], Any]] = [
        lambda: shop.rework(first, repack_lot, 8, 2, 3, True, False, *where),
        lambda: shop.rework(second, mill_lot, 8, 2, 3, False, False, *where),
        lambda: shop.rework(first, mill_lot, 9, 0, -1, False, False, *where),
        lambda: shop.rework(kits, mill_lot, 1, 0, 0, False, False, *where),
        lambda: shop.blend([(first, 5), (second, 6)], False, 2, "ROOM", 1, "spilt"),
        lambda: shop.repeat(0),
        lambda: shop.reuse_a_key(0),
        lambda: shop.reverse(0, None),
        lambda: shop.break_down(kits, 3, True, [2, 0, 0], "ROOM", 1, "torn"),
        lambda: shop.break_down(kits, 2, False, [0, 0, 0], "ROOM", 1, ""),
        lambda: shop.reverse(0, 2),
        lambda: shop.reverse(4, None),
    ]
    SEEN.clear()
    for step in steps:
        step()
        _check(shop)
    shop.teardown()
    assert set(SEEN) >= {"more-out-than-in", "work-does-not-fit", "reversal"}
    done = {kind: SEEN[f"{kind} at random"] for kind in WORKS}
    assert done == {"repack": 1, "mill": 1, "decant": 0, "blend": 1, "break_down": 2}
    assert SEEN["reversal"] >= 2


@pytest.mark.django_db
def test_the_books_stay_right_whatever_is_done():
    SEEN.clear()
    run_state_machine_as_test(
        Workshop,
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
    assert sum(SEEN[f"{kind} at random"] for kind in WORKS) > 10
