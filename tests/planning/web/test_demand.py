"""The demand grid, typed into like a sheet."""

from __future__ import annotations

import re
from datetime import timedelta

from django.test import Client
from django.urls import reverse

from planning.models import Forecast
from planning.services.forecast import ForecastCell, set_forecast
from tests.planning.dispatching import line, order
from tests.planning.make import TODAY, Store
from tests.planning.web.asking import send, statements, text_of

NEXT = TODAY + timedelta(weeks=1)


def box(house: Store, week=TODAY) -> str:
    return f"kits-{house.kit.pk}-{week.isoformat()}"


def hidden(text: str, name: str) -> str:
    found = re.search(rf'name="{name}" value="([^"]*)"', text)
    assert found, name
    return found[1]


def grid_form(browser: Client, house: Store, **typed: str) -> dict[str, str]:
    """Return the form as it is shown once the kit was added, with what is typed."""
    url = reverse("demand-list") + "?kit=KIT-PALE&weeks=4"
    text = browser.get(url).content.decode()
    shown = {name: hidden(text, name) for name in ("on", "weeks", "fingerprint")}
    return {**shown, "kit": "KIT-PALE", **typed}


def test_demand_is_a_grid_of_weeks(house: Store, planner: Client) -> None:
    assert "No demand is known" in text_of(planner, "demand-list")
    set_forecast(by=house.by, cells=[ForecastCell(kit=house.kit, week_on=NEXT, kits=37)])
    line(order(promised_on=NEXT), 5, kit=house.kit)
    text = text_of(planner, "demand-list")
    assert "KIT-PALE" in text
    assert 'value="37"' in text
    assert "5 ordered" in text
    assert "32 left" in text


def test_who_may_not_plan_reads_the_grid_and_types_nothing(house: Store, packer: Client) -> None:
    set_forecast(by=house.by, cells=[ForecastCell(kit=house.kit, week_on=NEXT, kits=37)])
    text = text_of(packer, "demand-list")
    assert "37" in text
    assert "data-row" not in text
    assert send(packer, "demand-save").status_code == 403


def test_cells_are_saved_in_one_request_and_emptied_ones_taken_away(
    house: Store, planner: Client
) -> None:
    typed = {box(house): "12", box(house, NEXT): "8"}
    answer = send(planner, "demand-save", form=grid_form(planner, house, **typed))
    assert answer.status_code == 303
    assert "kit=KIT-PALE" in answer.headers["Location"]
    assert dict(Forecast.objects.values_list("week_on", "kits")) == {TODAY: 12, NEXT: 8}
    answer = send(planner, "demand-save", form=grid_form(planner, house, **{box(house): "12"}))
    assert dict(Forecast.objects.values_list("week_on", "kits")) == {TODAY: 12}


def test_what_cannot_be_read_is_shown_again_as_it_was_typed(house: Store, planner: Client) -> None:
    typed = {box(house): "a dozen", box(house, NEXT): "8"}
    answer = send(planner, "demand-save", form=grid_form(planner, house, **typed))
    text = answer.content.decode()
    assert answer.status_code == 422
    assert 'value="a dozen"' in text
    assert 'value="8"' in text
    assert "week of 02 Mar" in text
    assert not Forecast.objects.exists()


def test_a_grid_that_another_changed_is_not_written_over(house: Store, planner: Client) -> None:
    form = grid_form(planner, house, **{box(house): "12"})
    set_forecast(by=house.by, cells=[ForecastCell(kit=house.kit, week_on=NEXT, kits=37)])
    answer = send(planner, "demand-save", form=form)
    assert answer.status_code in {409, 422}
    assert "changed by someone else" in answer.content.decode()
    assert dict(Forecast.objects.values_list("week_on", "kits")) == {NEXT: 37}


def test_one_moves_through_the_weeks_however_far_an_address_asks(
    house: Store, planner: Client
) -> None:
    for on in ("2026-03-02", "9999-12-31", "0001-01-01", "soon"):
        assert planner.get(reverse("demand-list"), {"on": on, "weeks": 3}).status_code == 200
    assert "on=2026-03-23" in planner.get(
        reverse("demand-list"), {"on": "2026-03-04", "weeks": 3}
    ).content.decode().replace("&amp;", "&")


def test_the_grid_reads_few_statements(house: Store, planner: Client) -> None:
    cells = [
        ForecastCell(kit=house.kit, week_on=TODAY + timedelta(weeks=week), kits=5)
        for week in range(12)
    ]
    set_forecast(by=house.by, cells=cells[:2])
    few = statements(planner, "demand-list")
    set_forecast(by=house.by, cells=cells)
    assert statements(planner, "demand-list") == few
