"""An item of a plan week by week."""

from __future__ import annotations

from dataclasses import replace

from planning.engine.plan_input import OnOrder
from planning.engine.plan_phases import phases
from tests.planning.engine.plans import BOX, HOP, G, day, given, lot, offer, planned, with_runs


def test_what_goes_off_is_lost_the_day_after_and_only_what_comes_is_scheduled():
    """Eight boxes keep to the Sunday of the first week; three more come in the second."""
    found = given(
        lots=(lot("B-1", BOX, 8, last_on=day(6)),),
        on_order=(OnOrder(code="PO-1", item=BOX, quantity=3, due_on=day(8)),),
    )
    first, second, *_ = phases(planned(with_runs(found, (1, 2))), BOX)
    assert (first.scheduled, first.expired, first.projected) == (0, 0, 6)
    assert (second.scheduled, second.expired, second.projected) == (3, 6, 3)


def test_what_is_bought_beyond_the_need_is_left():
    found = replace(given(), offers=(offer(BOX, pack_quantity=10),))
    _, second, *_ = phases(planned(with_runs(found, (9, 4))), BOX)
    assert (second.net, second.planned, second.projected) == (4, 10, 6)


def test_hops_are_needed_in_grams_at_the_planning_alpha():
    """Ten kits of 30 g at the planning alpha of 10 %."""
    _, second, *_ = phases(planned(with_runs(given(), (9, 10))), HOP)
    assert second.gross == 300 * G
