"""What a plan cannot do in time, and what can still be done about it."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import numpy as np
import pytest

from planning.engine.plan_input import HouseRules, OnOrder, PlanKit, PlanRunLine, StandIn
from planning.engine.plan_late import short_kits, waiting
from planning.engine.plan_remedies import Remedies
from tests.planning.engine.plans import (
    BOX,
    HOP,
    KG,
    KIT,
    MALT,
    PACK,
    YEAST,
    change,
    day,
    given,
    lot,
    offer,
    pitches,
    planned,
    runs_of,
    with_orders,
    with_runs,
)


def test_kits_that_cannot_leave_in_time_are_named_with_the_day_they_can():
    house = HouseRules(pack_lead_days=2)
    plan = planned(with_orders(given(house=house), (1, 10)))
    (row,) = short_kits(plan)
    assert (row.kits, row.wanted_on, row.ready_on) == (10, day(1), day(2))


def test_a_kit_that_is_not_offered_any_more_is_short_and_says_so():
    kits = (PlanKit(kit_id=1, item=KIT, shelf_days=30, packable=False),)
    plan = planned(with_orders(given(kits=kits), (7, 10)))
    (row,) = short_kits(plan)
    assert (runs_of(plan), row.ready_on) == ([], None)
    assert "not offered" in row.reason


def test_an_order_that_is_past_due_says_what_can_still_be_done():
    found = with_runs(given(lots=(lot("B-1", BOX, 4),)), (2, 10))
    offers = (*found.offers, offer(BOX, offer_id=99, lead=1, preferred=False, supplier_name="Near"))
    plan = planned(replace(found, offers=offers))
    (place,) = [at for at, buy in enumerate(plan.buys) if buy.item == BOX]
    said = " ".join(Remedies(plan).of(place))
    assert "Near delivers in 1 days, in time" in said
    row = waiting(plan)[0]
    assert (row.kits, row.possible) == (10, 0)  # malt is late too


def test_a_run_that_waits_says_how_many_of_its_kits_can_be_made():
    lots = (lot("M-1", MALT, 100 * KG), lot("H-1", HOP, KG, alpha=0.1), lot("Y-1", YEAST, 99),
            lot("B-1", BOX, 4))  # fmt: skip
    found = replace(with_runs(given(lots=lots), (2, 10)), **pitches(99, 99, 99, 99))
    (row,) = waiting(planned(found))
    assert (row.kits, row.possible, row.ready_on) == (10, 4, day(5))


def test_kits_that_wait_for_different_parts_are_lost_each_for_its_own():
    """Two kits of one run: one has boxes for six of ten, the other malt for seven of ten."""
    rows = ((0, BOX, 1, 0.0, False, nan, -1), (1, MALT, 5 * KG, 0.0, False, nan, -1))
    kits = tuple(PlanKit(kit_id=n, item=at, shelf_days=30) for n, at in enumerate((KIT, PACK)))
    found = given(
        rows=rows,
        kits=kits,
        make_kit=np.array([0, 1]),
        lots=(lot("B-1", BOX, 6), lot("M-1", MALT, 35 * KG)),
    )
    lines = tuple(PlanRunLine(run=0, make=make, kits=10) for make in (0, 1))
    (row,) = waiting(planned(replace(with_runs(found, (2, 10)), run_lines=lines)))
    assert (row.kits, row.possible) == (20, 13)


def late_boxes(*runs, **facts):
    """Runs for which boxes are ordered too late, and what can be done about the first order."""
    plan = planned(replace(with_runs(given(), *runs), **facts))
    place = next(at for at, buy in enumerate(plan.buys) if buy.item == BOX)
    return " ".join(Remedies(plan).of(place))


def test_only_what_comes_after_the_need_is_asked_for_sooner():
    on_order = tuple(
        OnOrder(code=f"PO-{due}", item=BOX, quantity=3, due_on=day(due)) for due in (1, 2, 3)
    )
    said = late_boxes((2, 10), on_order=on_order)
    assert "Order PO-3 brings 3" in said
    assert "PO-1" not in said
    assert "PO-2" not in said


@pytest.mark.parametrize(("free", "enough"), [(14, True), (13, False)])
def test_a_substitute_is_named_where_enough_lies_free_for_every_run_that_waits(free, enough):
    """One order of boxes for runs of ten and of four; all fourteen kits would take another."""
    found = change(given(), BOX, period_days=7)
    said = late_boxes(
        (1, 10),
        (2, 4),
        items=found.items,
        lots=(lot("P-1", PACK, free),),
        stand_ins=(StandIn(make=0, item=PACK, stands_for=BOX, packed=1),),
        **pitches(99),
    )
    assert ("Pack is approved in its place, and enough of it lies free" in said) == enough


def test_what_comes_on_the_very_day_is_in_time():
    assert waiting(planned(with_runs(given(), (5, 10)))) == ()
    (row,) = waiting(planned(with_runs(given(), (4, 10))))
    assert row.ready_on == day(5)
    assert short_kits(planned(with_orders(given(), (7, 10)))) == ()


def test_a_run_waits_for_ever_for_what_nobody_sells():
    found = given()
    offers = tuple(each for each in found.offers if each.item != BOX)
    (row,) = waiting(planned(with_runs(replace(found, offers=offers), (2, 10))))
    assert {each.item: each.usable_on for each in row.lacking} == {
        MALT: day(5),
        HOP: day(5),
        YEAST: day(5),
        BOX: None,
    }
    assert row.lacking[0].item == BOX
    assert row.ready_on is None


@pytest.mark.parametrize(("lead", "in_time"), [(2, True), (3, False)])
def test_another_supplier_is_named_only_where_it_delivers_in_time(lead, in_time):
    other = offer(BOX, offer_id=99, lead=lead, preferred=False, supplier_name="Near")
    said = late_boxes((2, 10), offers=(*given().offers, other))
    assert ("Near delivers" in said) == in_time
    assert ("Ask for faster delivery, or move RUN-1" in said) == (not in_time)


def test_what_is_due_today_cannot_be_asked_for_sooner():
    """It waits in quarantine until day 5, and the run is on day 2."""
    found = change(given(), BOX, quarantine_days=5)
    on_order = (OnOrder(code="PO-1", item=BOX, quantity=3, due_on=day(0)),)
    assert "PO-1" not in late_boxes((2, 10), items=found.items, on_order=on_order)
