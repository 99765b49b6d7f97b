"""The page of the mix."""

from __future__ import annotations

from datetime import timedelta

from django.urls import reverse

from planning.models import Forecast
from tests.planning.make import TODAY
from tests.planning.web.asking import send, text_of


def test_an_empty_mix_says_that_nothing_is_wanted(planner, house):
    assert "No kit is wanted until then" in text_of(planner, "mix")


def test_a_mix_is_planned_as_a_run(planner, house):
    Forecast.objects.create(kit=house.kit, week_on=TODAY + timedelta(days=7), kits=10)
    house.lot(house.goods.ale_yeast, 100, received_on=TODAY, packaged_on=TODAY)
    read = text_of(planner, "mix")
    assert "Plan this as a run" in read
    assert "Nothing is short" in read
    form = {"pack_on": TODAY.isoformat(), f"kits_{house.kit.pk}": 10}
    assert send(planner, "run-preview", form=form).status_code == 200


def test_kits_that_a_run_packs_already_are_not_planned_again(planner, house):
    Forecast.objects.create(kit=house.kit, week_on=TODAY + timedelta(days=7), kits=10)
    house.lot(house.goods.ale_yeast, 100, received_on=TODAY, packaged_on=TODAY)
    house.plan(4, TODAY)
    read = text_of(planner, "mix")
    assert "4 in planned runs" in read
    assert "Plan the 6 kits that no run packs yet" in read
    assert f'name="kits_{house.kit.pk}" value="6"' in read
    house.reserved(2, TODAY)
    assert "Plan the 4 kits that no run packs yet" in text_of(planner, "mix")
    house.plan(4, TODAY)
    assert "plan-mix" not in text_of(planner, "mix")


def test_a_day_that_has_gone_is_asked_for_again(planner, house):
    answer = planner.get(reverse("mix"), {"until": (TODAY - timedelta(days=1)).isoformat()})
    assert answer.status_code == 422
    assert "Choose a day from today" in answer.content.decode()
