"""Two people dispatch the same stock at the same moment, where the database lets both write."""

from __future__ import annotations

import pytest

from boxwort.errors import Refusal
from inventory.models import LotStock
from inventory.queries.verify import stock_differences
from planning.models import Dispatch
from planning.queries.dispatch_choices import dispatch_choice
from planning.queries.verify_dispatches import dispatch_check
from planning.services.dispatching import proposed, undo_dispatch
from tests.at_once import at_once
from tests.planning.dispatching import kits, one_order, send, shop, yeast
from tests.planning.make import TODAY

pytestmark = [
    pytest.mark.services,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("two_can_write", "today_stands_still"),
    pytest.mark.parametrize("attempt", range(3)),
]


def _shop():
    made = shop()
    kits(made, 1, "LAST")
    yeast(made, 60, "YEAST-A")
    return made


def _books_agree():
    return stock_differences() == [] and dispatch_check().differences == ()


def test_the_last_kit_goes_to_one_order_and_the_other_hears_that_it_is_gone(attempt):
    made = _shop()
    orders = [one_order(made, 1), one_order(made, 1)]
    picks = [proposed(dispatch_choice(order.pk, TODAY)) for order in orders]
    answers = at_once(
        *(
            lambda order=order, asked=asked: send(made, order, asked)
            for order, asked in zip(orders, picks, strict=True)
        )
    )
    (refusal,) = [answer for answer in answers if isinstance(answer, Refusal)]
    assert refusal.code in {"lot-not-on-the-list", "not-enough-on-hand", "not-enough-available"}
    assert Dispatch.objects.count() == 1
    assert LotStock.objects.get(lot__code="LAST").on_hand == 0
    assert _books_agree()


def test_one_order_leaves_once_whoever_writes_it_down(attempt):
    made = _shop()
    order = one_order(made, 1)
    picks = proposed(dispatch_choice(order.pk, TODAY))
    answers = at_once(*(lambda: send(made, order, picks) for _ in range(2)))
    assert sum(isinstance(answer, Refusal) for answer in answers) == 1
    assert _books_agree()


def test_a_dispatch_is_undone_once(attempt):
    made = _shop()
    dispatch = send(made, one_order(made, 1))
    answers = at_once(
        *(
            lambda number=number: undo_dispatch(
                by=made.by,
                dispatch=Dispatch.objects.select_related("order", "conversion").get(),
                expected=dispatch.version,
                reason="twice",
                key=f"undo {number}",
            )
            for number in range(2)
        )
    )
    assert sum(isinstance(answer, Refusal) for answer in answers) == 1
    assert LotStock.objects.get(lot__code="LAST").on_hand == 1
    assert _books_agree()
