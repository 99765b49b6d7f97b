"""Days on which the house does not work."""

from __future__ import annotations

from datetime import date

import pytest

from boxwort.accounts.days_off import add_day_off, days_off, remove_day_off
from boxwort.accounts.models import DayOff, User
from boxwort.accounts.queries import history_of
from boxwort.errors import Refusal

pytestmark = pytest.mark.django_db
NEW_YEAR, MAY_DAY = date(2027, 1, 1), date(2027, 5, 1)


@pytest.fixture
def owner() -> User:
    return User.objects.create(username="olive", role="owner")


def test_a_day_off_is_noted_once_renamed_and_taken_away(owner: User) -> None:
    add_day_off(by=owner, on=MAY_DAY, name="May Day")
    for name in ("New year", "New Year's Day", "New Year's Day"):
        add_day_off(by=owner, on=NEW_YEAR, name=name)
    assert [(row.on, row.name) for row in days_off(from_on=NEW_YEAR)] == [
        (NEW_YEAR, "New Year's Day"),
        (MAY_DAY, "May Day"),
    ]
    assert [row.on for row in days_off(from_on=MAY_DAY)] == [MAY_DAY]
    remove_day_off(by=owner, day=DayOff.objects.get(on=NEW_YEAR))
    assert days_off(from_on=NEW_YEAR)[0].on == MAY_DAY
    actions = [row.action for row in history_of("accounts.sitesettings", 1)]
    assert actions == ["day-off-removed", "day-off", "day-off", "day-off"]


def test_a_name_too_long_for_its_column_is_refused(owner: User) -> None:
    with pytest.raises(Refusal) as refused:
        add_day_off(by=owner, on=NEW_YEAR, name="x" * 81)
    assert refused.value.code == "text-too-long"
