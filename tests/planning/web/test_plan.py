"""The plan's pages: what is late, runs to plan, what to order, kept plans."""

from __future__ import annotations

from datetime import timedelta
from http import HTTPStatus

import pytest
from django.urls import reverse
from django.utils import timezone

from planning.models import CustomerOrder, OrderLine, Plan, Run
from planning.queries.plan_rows import suggestions
from tests.make import key
from tests.planning.make import store

pytestmark = pytest.mark.django_db


def ordered(made, kits=10, in_days=7, code="CO-1"):
    promised_on = timezone.localdate() + timedelta(days=in_days)
    order = CustomerOrder.objects.create(code=code, customer="Ann", promised_on=promised_on)
    OrderLine.objects.create(order=order, position=1, kit=made.kit, quantity=kits)


def take_up(client, chosen, request_key=None):
    asked = {"run": chosen, "request_key": request_key or key()}
    return client.post(reverse("plan-take-up"), asked)


def chosen_now():
    return [run.chosen for run in suggestions(timezone.localdate()).runs]


def test_the_plan_shows_what_is_late_before_what_to_plan(planner):
    made = store(hops=False)
    ordered(made)
    text = planner.get(reverse("plan-detail")).content.decode()
    assert text.index("Not in time") < text.index("Runs to plan") < text.index("To order")
    assert "No supplier offers Bitter" in text
    assert "Week of" in text


def test_an_empty_plan_says_that_nothing_is_to_be_done(planner):
    text = planner.get(reverse("plan-detail")).content.decode()
    assert "Nothing to pack" in text
    assert "Nothing to order" in text


def test_a_button_plans_the_suggested_run_once_however_often_it_is_pressed(planner):
    ordered(store())
    chosen, request_key = chosen_now(), key()
    for _ in range(2):
        answer = take_up(planner, chosen, request_key)
        assert answer.status_code == HTTPStatus.SEE_OTHER
    assert Run.objects.get().lines.get().kits == 10


def test_a_stale_button_is_refused_and_plans_nothing(planner):
    made = store()
    ordered(made)
    chosen = chosen_now()
    ordered(made, kits=3, code="CO-2")
    assert take_up(planner, chosen).status_code == HTTPStatus.UNPROCESSABLE_ENTITY
    assert not Run.objects.exists()


def test_a_button_nobody_made_is_refused(planner):
    assert take_up(planner, ["nonsense"]).status_code == HTTPStatus.UNPROCESSABLE_ENTITY


def test_a_plan_is_kept_and_shows_what_changed_since(planner):
    made = store()
    ordered(made)
    asked = {"note": "before the fair", "request_key": key()}
    assert planner.post(reverse("plan-keep"), asked).status_code == HTTPStatus.SEE_OTHER
    kept = reverse("plan-kept", args=[Plan.objects.get().pk])
    assert "Nothing: the plan of today" in planner.get(kept).content.decode()
    ordered(made, kits=5, code="CO-2")
    assert "15" in planner.get(kept).content.decode()


def test_an_item_of_the_plan_is_shown_through_its_weeks(planner):
    made = store()
    ordered(made)
    page = planner.get(reverse("plan-item", args=[made.goods.bittering.pk]))
    text = page.content.decode()
    assert "BITTER-A" in text
    assert "of alpha acid" in text


def test_a_kit_has_no_page_of_purchases(planner):
    made = store()
    answer = planner.get(reverse("plan-item", args=[made.kit.item.pk]))
    assert answer.status_code == HTTPStatus.NOT_FOUND
