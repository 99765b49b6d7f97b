"""The pages of what-if and cover."""

from __future__ import annotations

from datetime import timedelta

from inventory.models import Lot
from planning.models import Forecast, WhatIf
from tests.planning.make import TODAY
from tests.planning.web.asking import send, statements, text_of

NEXT_WEEK = TODAY + timedelta(days=7)


def test_an_empty_page_says_how_to_begin(planner, house):
    assert "No what-if is written yet." in text_of(planner, "what-if-list")
    assert "No what-if is written yet." in text_of(planner, "what-if-compare")


def test_a_planner_begins_a_what_if_changes_demand_and_compares(planner, house):
    Forecast.objects.create(kit=house.kit, week_on=NEXT_WEEK, kits=10)
    assert send(planner, "what-if-begin", form={"name": "Busy spring"}).status_code == 303
    what_if = WhatIf.objects.get()
    form = {"demand-version": 1, "demand-kit": house.kit.pk, "demand-times": "2"}
    assert send(planner, "what-if-add", what_if.pk, "demand", form=form).status_code == 303
    assert "2 times the forecast in every week" in text_of(planner, "what-if-detail", what_if.pk)
    read = text_of(planner, "what-if-compare")
    assert "As it is" in read
    assert "Busy spring" in read
    assert "20 kits" in read


def test_a_change_that_says_nothing_is_asked_for_again_with_what_was_typed(planner, house):
    send(planner, "what-if-begin", form={"name": "Unclear"})
    what_if = WhatIf.objects.get()
    form = {"demand-version": 1, "demand-kit": house.kit.pk}
    answer = send(planner, "what-if-add", what_if.pk, "demand", form=form)
    assert answer.status_code == 422
    assert "or how many times the forecast" in answer.content.decode()
    form = {"demand-version": 1, "demand-kit": house.kit.pk, "demand-times": "99"}
    answer = send(planner, "what-if-add", what_if.pk, "demand", form=form)
    assert answer.status_code == 422
    assert 'value="99"' in answer.content.decode()


def test_a_lot_is_chosen_by_its_item_and_a_change_that_changes_nothing_says_so(planner, house):
    send(planner, "what-if-begin", form={"name": "Old sack"})
    what_if, lot = WhatIf.objects.get(), Lot.objects.get(code="BITTER-A")
    named = f"BITTER-A, {lot.item.name}"
    assert named in text_of(planner, "what-if-detail", what_if.pk)
    form = {"lot_date-version": 1, "lot_date-lot": lot.pk, "lot_date-day": "2040-01-01"}
    assert send(planner, "what-if-add", what_if.pk, "lot_date", form=form).status_code == 303
    read = text_of(planner, "what-if-compare")
    assert f"BITTER-A ({lot.item.name}), best before" in read
    assert "“Old sack” plans no differently" in read
    Forecast.objects.create(kit=house.kit, week_on=NEXT_WEEK, kits=10)
    form = {"demand-version": 2, "demand-kit": house.kit.pk, "demand-times": "2"}
    assert send(planner, "what-if-add", what_if.pk, "demand", form=form).status_code == 303
    assert "plans no differently" not in text_of(planner, "what-if-compare")


def test_a_what_if_is_dropped(planner, house):
    send(planner, "what-if-begin", form={"name": "For nothing"})
    what_if = WhatIf.objects.get()
    assert send(planner, "what-if-drop", what_if.pk, form={"version": 1}).status_code == 303
    assert not WhatIf.objects.exists()


def test_cover_says_what_lasts_how_long(planner, house):
    assert "Nothing is needed yet." in text_of(planner, "cover-list")
    house.plan(10)
    read = text_of(planner, "cover-list")
    assert "weeks" in read
    assert house.goods.box.code in read


def test_cover_takes_as_many_statements_for_more_runs(planner, house):
    house.plan(10)
    few = statements(planner, "cover-list")
    for number in range(5):
        house.plan(5, TODAY + timedelta(days=number))
    assert statements(planner, "cover-list") == few
