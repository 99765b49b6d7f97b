"""The plan printed in a terminal."""

from __future__ import annotations

from datetime import timedelta
from io import StringIO

import pytest
from django.core.management import call_command

from planning.models import CustomerOrder, OrderLine
from tests.planning.make import TODAY, store

pytestmark = pytest.mark.django_db


def printed():
    out = StringIO()
    call_command("plan", on=TODAY, stdout=out)
    return out.getvalue().replace("\xa0", " ")


def test_it_prints_what_is_late_which_runs_to_plan_and_what_to_order():
    made = store(hops=False)
    order = CustomerOrder.objects.create(
        code="CO-1", customer="Ann", promised_on=TODAY + timedelta(days=7)
    )
    OrderLine.objects.create(order=order, position=1, kit=made.kit, quantity=10)
    text = printed()
    assert text.index("Not in time") < text.index("Runs to plan")
    assert "lacks" in text
    assert "10 x KIT-PALE" in text
    assert "Nothing to order." in text


def test_an_empty_house_has_nothing_to_plan():
    assert "No run to plan" in printed()
