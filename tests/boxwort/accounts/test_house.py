"""The owner keeps the house rules; two who start from the same rules cannot both win."""

from __future__ import annotations

from typing import Any

import pytest
from django.db import IntegrityError, transaction

from boxwort.accounts.house import change_house
from boxwort.accounts.models import SiteSettings, User
from boxwort.accounts.queries import history_of, site_settings
from boxwort.errors import Refusal

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return User.objects.create(username="olive", role="owner")


def change(owner: User, **settings: Any) -> None:
    change_house(by=owner, expected=site_settings().version, settings=settings)


def test_a_change_is_kept_and_written_down(owner: User) -> None:
    change(owner, transit_days=5, currency="EUR")
    site = site_settings()
    assert (site.transit_days, site.currency, site.version) == (5, "EUR", 2)
    [entry] = history_of("accounts.sitesettings", 1)
    assert entry.before == {"transit_days": 3, "currency": "USD"}
    assert entry.after == {"transit_days": 5, "currency": "EUR"}


def test_what_stands_already_is_no_change(owner: User) -> None:
    change(owner, transit_days=3)
    assert site_settings().version == 1
    assert history_of("accounts.sitesettings", 1) == []


def test_of_two_who_opened_the_same_settings_the_second_is_told(owner: User) -> None:
    change_house(by=owner, expected=1, settings={"transit_days": 5})
    with pytest.raises(Refusal) as refused:
        change_house(by=owner, expected=1, settings={"transit_days": 7})
    assert refused.value.code == "changed-by-someone-else"
    assert site_settings().transit_days == 5


@pytest.mark.parametrize(
    "settings",
    [
        {"transit_temperature_c": 41.0},
        {"yeast_shelf_temperature_c": -40.0},
        {"transit_days": 61},
        {"pouch_resolution_mg": 0},
        {"form_factor_cone": 0.0},
        {"starter_billion_per_l": 0.0},
        {"most_multiple": 0.9},
        {"kits_per_day": 0},
        {"horizon_weeks": 105},
        {"holding_share": 1.5},
        {"working_weekdays": ""},
        {"working_weekdays": "Mon"},
        {"slow_days": 0},
        {"priming_rule": "guess"},
        {"minimum_batch_kits": 0},
        {"pouch_packing": "paper"},
        {"producer": " "},
        {"currency": "euro"},
    ],
)
def test_a_setting_no_house_could_mean_is_refused(owner: User, settings: dict[str, Any]) -> None:
    with pytest.raises(Refusal) as refused:
        change(owner, **settings)
    assert refused.value.code == "setting-impossible"
    assert site_settings().version == 1


def test_pouches_are_not_weighed_finer_than_the_scale_shows(owner: User) -> None:
    with pytest.raises(Refusal) as refused:
        change(owner, pouch_resolution_mg=50)
    assert refused.value.code == "scale-coarser-than-pouch"
    change(owner, pouch_resolution_mg=50, scale_division_mg=10)
    assert site_settings().pouch_resolution_mg == 50


def test_no_hop_is_held_below_its_written_weight_by_the_database_either(owner: User) -> None:
    change(owner, most_multiple=1.0, priming_rule="brewing_text")
    assert (site_settings().most_multiple, site_settings().priming_rule) == (1.0, "brewing_text")
    with pytest.raises(IntegrityError), transaction.atomic():
        SiteSettings.objects.update(most_multiple=0.99)


def test_the_bench_may_have_no_limit_and_shares_are_told_in_per_cent(owner: User) -> None:
    change(owner, kits_per_day=40, working_weekdays="01234")
    change(owner, kits_per_day=None)
    assert site_settings().kits_per_day is None
    with pytest.raises(Refusal, match=r"150 % cannot be .* Write 0 to 100 %"):
        change(owner, holding_share=1.5)
