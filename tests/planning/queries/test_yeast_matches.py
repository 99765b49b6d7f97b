"""Which lot goes to which run, from real lots and runs."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from boxwort.quantities import UL_PER_L
from inventory.models import LotStatus
from planning.queries.yeast_matches import yeast_matches
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit, Part
from tests.planning.make import PACK_ON, TODAY, planner, store
from tests.recipes.make import offered, offered_kit, pale_ale

pytestmark = pytest.mark.django_db


@pytest.fixture
def made():
    made = store()
    Kit.objects.update(shelf_days=3)
    return made


def other_kit(made, code, **values):
    revision = offered(pale_ale(made.goods, f"R-{code}"))
    return offered_kit(revision, code, made.goods, shelf_days=3, **values)


def light_kit(made):
    """Return a kit that asks less of its two packs than the usual one."""
    return other_kit(made, "KIT-LIGHT", volume=12 * UL_PER_L)


def yeast_lot(made, code, packs, days_old, **facts):
    packaged_on = TODAY - timedelta(days=days_old)
    known = {"packaged_on": packaged_on, "received_on": TODAY} | facts
    return made.lot(made.goods.ale_yeast, packs, code=code, **known)


def plan(kit, kits=10, pack_on=PACK_ON):
    return plan_run(by=planner(), pack_on=pack_on, lines=[KitsAsked(kit=kit, kits=kits)])


def by_kit():
    (match,) = yeast_matches(TODAY)
    return {row.kit_code: row.lot_code for row in match.rows}


def test_the_older_lot_goes_to_the_lighter_kit(made):
    light = light_kit(made)
    yeast_lot(made, "OLD", 20, 40)
    yeast_lot(made, "NEW", 20, 1, best_before_on=TODAY + timedelta(days=30))
    plan(made.kit)
    plan(light)
    assert by_kit() == {"KIT-PALE": "NEW", "KIT-LIGHT": "OLD"}
    (match,) = yeast_matches(TODAY)
    assert (match.wanted, match.served, match.proved) == (20, 20, True)


def test_kits_without_a_lot_are_told(made):
    yeast_lot(made, "FEW", 8, 1)
    plan(made.kit)
    (match,) = yeast_matches(TODAY)
    assert [(row.lot_code, row.kits) for row in match.rows] == [("FEW", 4), ("", 6)]
    assert match.rows[1].pitched is None


def test_a_lot_that_may_not_be_used_serves_nobody(made):
    yeast_lot(made, "HELD", 40, 1, status=LotStatus.QUARANTINE)
    yeast_lot(made, "GONE", 40, 1, best_before_on=PACK_ON - timedelta(days=1))
    plan(made.kit)
    assert by_kit() == {"KIT-PALE": ""}


def test_what_a_batch_has_reserved_is_no_longer_open(made):
    packed = other_kit(made, "KIT-PACKED", yeast_part=Part.PACKED)
    yeast_lot(made, "NEW", 30, 1)
    run = plan(packed)
    reserve_run(by=planner(), run=run, expected=run.version)
    assert yeast_matches(TODAY) == ()
    plan(packed)
    (match,) = yeast_matches(TODAY)
    assert [(row.lot_code, row.kits) for row in match.rows] == [("NEW", 5), ("", 5)]


@pytest.mark.parametrize("lots", [2, 12])
def test_matching_takes_as_many_statements_for_two_lots_as_for_twelve(made, lots):
    light = light_kit(made)
    for number in range(lots):
        yeast_lot(made, f"Y-{number}", 4, number)
        plan(light if number % 2 else made.kit, 2, PACK_ON + timedelta(days=number))
    with CaptureQueriesContext(connection) as asked:
        yeast_matches(TODAY)
    assert len(asked) == 10
