"""Customer orders for reading."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.models import CustomerOrderState
from planning.queries.customer_orders import ALL, customer_order, customer_order_rows
from tests.planning.dispatching import line, order, zone
from tests.planning.make import TODAY, store

pytestmark = pytest.mark.django_db


def test_open_orders_stand_by_promised_day_and_say_how_far_they_are():
    made = store(hops=False)
    later = order("C-B", TODAY + timedelta(days=3), zone=zone())
    line(later, 4, kit=made.kit, dispatched=1, price=100)
    line(later, 7, item=made.goods.box, price=50)
    late = order("C-A", TODAY - timedelta(days=1))
    line(late, 2, kit=made.kit, yeast=made.goods.dry_ale_yeast)
    order("C-C", state=CustomerOrderState.CANCELLED)
    first, second = customer_order_rows(TODAY)
    assert [(row.code, row.late, row.state_words) for row in (first, second)] == [
        ("C-A", True, "Open"),
        ("C-B", False, "Part dispatched"),
    ]
    assert (second.kits, second.kits_left, second.extras, second.value) == (4, 3, 1, 450)
    assert (second.zone_name, first.lines[0].yeast_name) == ("North", "Dry-Ale")
    assert [row.code for row in customer_order_rows(TODAY, state=ALL)] == ["C-A", "C-B", "C-C"]
    assert customer_order(later.pk, TODAY) == second


def test_orders_are_found_by_what_they_say_and_hold():
    made = store(hops=False)
    line(order("C-1", customer="Pip Dunmore"), 1, kit=made.kit)
    line(order("C-2", note="for the fair"), 1, item=made.goods.gypsum)
    found = {
        words: [row.code for row in customer_order_rows(TODAY, search=words)]
        for words in ("dunmore", "kit-pale", "fair", "gypsum", "pip kit", "pip gypsum")
    }
    assert found == {
        "dunmore": ["C-1"],
        "kit-pale": ["C-1"],
        "fair": ["C-2"],
        "gypsum": ["C-2"],
        "pip kit": ["C-1"],
        "pip gypsum": [],
    }


def test_three_orders_are_read_in_as_many_statements_as_thirty():
    made = store(hops=False)

    def statements() -> int:
        with CaptureQueriesContext(connection) as asked:
            customer_order_rows(TODAY, search="kit")
        return len(asked)

    for count in (3, 27):
        for _each in range(count):
            line(order(), 1, kit=made.kit)
    assert statements() == 2
