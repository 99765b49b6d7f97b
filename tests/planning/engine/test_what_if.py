"""What a change leaves as it is, and what it makes otherwise."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta

import numpy as np
import pytest

from planning.engine.what_if import (
    OtherDemand,
    OtherLeadTime,
    OtherLotAlpha,
    OtherLotDate,
    changed,
)
from tests.planning.engine.plans import BOX, HOP, TODAY, day, given, lot, offer

MONDAY = TODAY - timedelta(weeks=1)


def foreseen(*weeks: int):
    """A plan on a Wednesday whose forecast begins a week ago."""
    plan = given(first_week=MONDAY, forecast=np.array([list(weeks)]))
    return replace(plan, today=day(2))


def forecast_of(found) -> list[int]:
    return found.forecast[0].tolist()


def kit_of(plan) -> int:
    return plan.kits[0].kit_id


@pytest.mark.parametrize(
    ("change", "weeks"),
    [
        ({"times": 1.5}, [10, 15, 15, 18]),
        ({"kits": 3}, [10, 3, 3, 3]),
        ({"kits": 0}, [10, 0, 0, 0]),
        ({"kits": 3, "week_on": TODAY}, [10, 3, 10, 12]),
        ({"kits": 3, "week_on": TODAY + timedelta(weeks=2)}, [10, 10, 10, 3]),
        ({"kits": 3, "week_on": MONDAY}, [10, 10, 10, 12]),
        ({"kits": 3, "week_on": TODAY + timedelta(weeks=3)}, [10, 10, 10, 12]),
    ],
)
def test_another_forecast_is_of_the_weeks_from_this_one_on(change, weeks):
    plan = foreseen(10, 10, 10, 12)
    assert forecast_of(changed(plan, [OtherDemand(kit_id=kit_of(plan), **change)])) == weeks
    assert forecast_of(plan) == [10, 10, 10, 12]


def test_changes_are_made_one_after_another():
    plan = foreseen(0, 10)
    kit = kit_of(plan)
    changes = [OtherDemand(kit_id=kit, kits=6), OtherDemand(kit_id=kit, times=0.5)]
    assert forecast_of(changed(plan, changes)) == [0, 3]


def test_only_the_lot_and_the_supplier_that_are_meant_are_otherwise():
    plan = given(
        lots=(lot("A", HOP, 10, alpha=0.1), lot("BB", HOP, 10, alpha=0.1, form_factor=1.1)),
        offers=(offer(HOP, supplier_id=1), offer(BOX, supplier_id=2)),
    )
    found = changed(
        plan,
        [
            OtherLotAlpha(lot_id=2, alpha=0.08),
            OtherLotDate(lot_id=1, last_on=day(3)),
            OtherLeadTime(supplier_id=2, lead_days=30),
        ],
    )
    assert [(each.alpha, each.last_on) for each in found.lots] == [
        (0.1, day(3)),
        (pytest.approx(0.088), None),
    ]
    assert [each.delivery.lead_days for each in found.offers] == [5, 30]


def test_what_the_plan_does_not_know_changes_nothing():
    plan = foreseen(0, 10)
    changes = [OtherDemand(kit_id=-1, kits=6), OtherLotAlpha(lot_id=-1, alpha=0.08)]
    assert forecast_of(changed(plan, changes)) == [0, 10]
