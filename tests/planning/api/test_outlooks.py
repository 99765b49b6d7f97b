"""Cover, mix and what-if over the API."""

from __future__ import annotations

from datetime import timedelta

from planning.models import Forecast
from planning.services.what_ifs import add_change, begin_what_if, other_demand
from tests.calling import Program
from tests.planning.make import TODAY, Store

NEXT_WEEK = TODAY + timedelta(days=7)


def wanted(house: Store, kits: int = 10) -> None:
    Forecast.objects.create(kit=house.kit, week_on=NEXT_WEEK, kits=kits)


def test_cover_is_read_with_its_weeks(planner: Program, house: Store) -> None:
    wanted(house)
    found = planner.read("api-cover")
    box = next(row for row in found["items"] if row["item"] == house.goods.box.code)
    assert box["usable"]["quantity"] == 500
    assert sum(week["gross"] for week in box["weeks"]) == 10


def test_the_mix_is_read_with_what_holds_it_back(planner: Program, house: Store) -> None:
    wanted(house)
    found = planner.read("api-mix")
    assert [row["wanted"] for row in found["kits"]] == [10]
    assert found["until"] == (TODAY + timedelta(weeks=4)).isoformat()


def test_a_mix_until_a_day_that_is_a_slip_of_the_pen_is_refused(
    planner: Program, house: Store
) -> None:
    assert planner.get("api-mix", until="9999-12-31").status_code == 400


def test_a_what_if_is_listed_and_compared(planner: Program, house: Store) -> None:
    wanted(house)
    what_if = begin_what_if(by=house.by, name="Twice")
    add_change(by=house.by, what_if=what_if, expected=1, other=other_demand(house.kit, times=2.0))
    (row,) = planner.read("api-what-if-list")["results"]
    assert row["changes"][0]["said"] == "2 times the forecast in every week"
    found = planner.read("api-what-if-compared", what_if.pk)
    assert found["names"] == ["As it is", "Twice"]
    kits = next(row for row in found["figures"] if row["name"] == "Kits suggested")
    assert kits["values"] == [10, 20]
    assert planner.get("api-what-if-compared", 0).status_code == 404
