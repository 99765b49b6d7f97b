"""People change only what is theirs, and only to what the house knows."""

from __future__ import annotations

import pytest

from boxwort.accounts.models import History, User
from boxwort.accounts.people import change_units
from boxwort.errors import Refusal


def test_units_the_house_does_not_know_are_refused(planner: User) -> None:
    with pytest.raises(Refusal) as refusal:
        change_units(by=planner, units="stone")
    assert refusal.value.code == "units-not-known"
    planner.refresh_from_db()
    assert planner.units == "metric"
    assert not History.objects.exists()
