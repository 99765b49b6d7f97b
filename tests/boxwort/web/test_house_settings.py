"""The owner reads and changes the house settings on one page."""

from __future__ import annotations

from typing import Any

import pytest
from django.test import Client
from django.urls import reverse

from boxwort.accounts.models import DayOff, User
from boxwort.accounts.queries import site_settings
from boxwort.web.house_settings import PARTS, HouseForm

URL = "house-settings"


@pytest.fixture
def owner(db: None) -> User:
    return User.objects.create(username="olive", role="owner")


@pytest.fixture
def browser(owner: User) -> Client:
    signed_in = Client()
    signed_in.force_login(owner)
    return signed_in


def as_shown(owner: User, **typed: Any) -> dict[str, Any]:
    """Return what the browser sends of the form as it stands, with some boxes changed."""
    form = HouseForm(site_settings(), owner.units)
    shown = {name: form.initial[name] for name in form.fields}
    return {**shown, "request_key": "key-1", **typed}


def test_every_setting_of_the_house_has_a_box(owner: User) -> None:
    kept = {field.name for field in type(site_settings())._meta.fields} - {"id", "version"}
    assert {name for _, _, names in PARTS for name in names} == kept
    assert set(HouseForm(site_settings(), "metric").fields) == kept | {"version"}


def test_a_changed_box_is_kept_and_shown_in_the_history(owner: User, browser: Client) -> None:
    sent = as_shown(owner, transit_days=6, pouch_resolution_mg="0.25", transit_temperature_c="24")
    assert browser.post(reverse(URL), sent).status_code == 303
    site = site_settings()
    assert (site.transit_days, site.pouch_resolution_mg, site.transit_temperature_c) == (
        6, 250, 24.0,
    )  # fmt: skip
    assert "Days on the way: 3 to 6 days" in browser.get(reverse(URL)).content.decode()


def test_degrees_are_read_as_the_owner_reads_them(owner: User, browser: Client) -> None:
    owner.units = "us"
    owner.save()
    assert 'name="transit_temperature_c" value="68.0"' in browser.get(reverse(URL)).content.decode()
    browser.post(reverse(URL), as_shown(owner, transit_temperature_c="77"))
    assert site_settings().transit_temperature_c == pytest.approx(25.0)


def test_a_page_sent_as_it_was_changes_nothing(owner: User, browser: Client) -> None:
    assert browser.post(reverse(URL), as_shown(owner)).status_code == 303
    assert site_settings().version == 1


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ({"transit_temperature_c": "60"}, "60 °C cannot be the temperature on the way."),
        ({"transit_days": ""}, "This field is required."),
        ({"version": 7}, "was changed by someone else"),
    ],
)
def test_a_wrong_box_brings_the_form_back_with_what_is_wrong(
    owner: User, browser: Client, typed: dict[str, Any], said: str
) -> None:
    answer = browser.post(reverse(URL), as_shown(owner, **typed))
    assert answer.status_code in (409, 422)
    assert said in answer.content.decode()
    assert site_settings().version == 1


def test_only_the_owner_keeps_the_house(db: None) -> None:
    planner = User.objects.create(username="ada", role="planner")
    signed_in = Client()
    signed_in.force_login(planner)
    assert signed_in.get(reverse(URL)).status_code == 403
    assert reverse(URL) not in signed_in.get(reverse("my-settings")).content.decode()


def test_what_the_plan_reckons_with_is_typed_in_per_cent_and_ticked_by_weekday(
    owner: User, browser: Client
) -> None:
    sent = as_shown(owner, holding_share="25", working_weekdays=["0", "1", "2"], kits_per_day="60")
    assert browser.post(reverse(URL), sent).status_code == 303
    site = site_settings()
    assert (site.holding_share, site.working_weekdays, site.kits_per_day) == (0.25, "012", 60)
    text = browser.get(reverse(URL)).content.decode()
    assert "20 to 25 %" in text
    assert "every day to Mon Tue Wed" in text
    wrong = browser.post(reverse(URL), as_shown(owner, working_weekdays=[], request_key="key-2"))
    assert "Tick at least one weekday" in wrong.content.decode()


def test_days_off_are_added_and_taken_away_on_the_page(browser: Client) -> None:
    new = reverse("day-off-new")
    assert "No day off is to come" in browser.get(reverse(URL)).content.decode()
    typed = {"on": "2999-12-24", "name": "Christmas Eve", "request_key": "day-1"}
    assert browser.post(new, typed).status_code == 303
    assert "Christmas Eve" in browser.get(reverse(URL)).content.decode()
    assert browser.post(new, {"on": "someday", "request_key": "day-2"}).status_code == 422
    remove = reverse("day-off-remove", args=[DayOff.objects.get().pk])
    assert "Christmas Eve is no day off any more" in browser.get(remove).content.decode()
    assert browser.post(remove, {"request_key": "day-3"}).status_code == 303
    assert not DayOff.objects.exists()
