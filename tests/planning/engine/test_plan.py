"""From demand to runs, from runs to needs, from needs to purchases, pegged both ways."""

from __future__ import annotations

from dataclasses import replace
from datetime import date
from math import exp, nan

import numpy as np
import pytest
from hypothesis import given as cases
from hypothesis import settings
from hypothesis import strategies as st

from planning.engine.calendar import Delivery, WorkingDays
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_input import (
    Allotted,
    HouseRules,
    OnOrder,
    PlanContract,
    PlanKit,
    PlanRunLine,
)
from planning.engine.plan_phases import phases
from tests.planning.engine.plans import (
    BOX,
    HOP,
    KG,
    KIT,
    MALT,
    PACK,
    ROWS,
    YEAST,
    G,
    bought,
    change,
    day,
    given,
    lot,
    needed,
    offer,
    pitches,
    planned,
    runs_of,
    with_orders,
    with_runs,
)


def test_an_order_becomes_a_run_and_the_run_becomes_purchases():
    plan = planned(with_orders(given(), (7, 10)))
    assert runs_of(plan) == [(7, 10)]
    assert needed(plan, MALT) == [(CauseKind.SUGGESTED, 7, 51 * KG)]
    assert bought(plan, MALT) == [(7, 51 * KG)]
    (buy,) = [buy for buy in plan.buys if buy.item == MALT]
    assert (buy.days.order_by, buy.days.past_due) == (day(2), False)


def test_what_is_added_at_dispatch_is_needed_when_the_box_leaves():
    plan = planned(with_orders(with_runs(given(), (2, 10)), (9, 10)))
    assert needed(plan, BOX) == [(CauseKind.RUN, 2, 10)]
    assert needed(plan, YEAST) == [(CauseKind.ORDER, 9, 10)]


def test_kits_beyond_all_demand_leave_on_the_day_they_are_packed():
    plan = planned(with_orders(with_runs(given(), (2, 10)), (9, 4)))
    assert needed(plan, YEAST) == [(CauseKind.RUN, 2, 6), (CauseKind.ORDER, 9, 4)]


def test_finished_kits_and_open_runs_serve_before_a_run_is_suggested():
    found = with_runs(given(lots=(lot("K-1", KIT, 3),)), (2, 4))
    plan = planned(with_orders(found, (5, 10)))
    assert runs_of(plan) == [(5, 3)]


def test_finished_kits_past_their_day_serve_nothing():
    found = given(lots=(lot("K-1", KIT, 10, last_on=day(4)),))
    assert runs_of(planned(with_orders(found, (5, 10)))) == [(5, 10)]
    assert runs_of(planned(with_orders(found, (4, 10)))) == []


def test_orders_use_up_the_forecast_of_their_week():
    found = given(forecast=np.array([[10, 0, 0, 0]]))
    plan = planned(with_orders(found, (2, 6)))
    assert runs_of(plan) == [(2, 6), (6, 4)]


def test_what_is_left_of_a_forecast_is_wanted_on_the_last_working_day_of_its_week():
    found = given(forecast=np.array([[0, 5, 0, 0]]), calendar=WorkingDays(weekdays="01234"))
    assert runs_of(planned(found)) == [(11, 5)]
    finished = replace(found, lots=(lot("K-1", KIT, 5),), **pitches(99))
    assert needed(planned(finished), YEAST) == [(CauseKind.FORECAST, 11, 5)]


def test_a_customer_order_whose_day_has_gone_is_wanted_today():
    plan = planned(with_orders(given(), (-3, 5)))
    assert runs_of(plan) == [(0, 5)]


def test_kits_that_take_a_day_to_leave_are_packed_before():
    house = HouseRules(pack_lead_days=2)
    plan = planned(with_orders(given(house=house), (7, 10)))
    assert runs_of(plan) == [(5, 10)]


def test_minimum_multiple_and_the_bench_shape_the_runs():
    kits = (PlanKit(kit_id=1, item=KIT, shelf_days=30, minimum=12, multiple=6),)
    house = HouseRules(kits_per_day=12)
    plan = planned(with_orders(given(kits=kits, house=house), (7, 20)))
    assert sum(kits for _, kits in runs_of(plan)) == 24
    assert max(kits for _, kits in runs_of(plan)) <= 12


def test_kits_within_kits_are_packed_before_them_and_hops_are_the_packs():
    rows = (
        (0, PACK, 1, 0.0, False, nan, -1),
        (0, BOX, 1, 0.0, False, nan, -1),
        (1, HOP, 30 * G, 0.0, False, 0.10, -1),
    )
    kits = (PlanKit(kit_id=1, item=KIT, shelf_days=30), PlanKit(kit_id=2, item=PACK, shelf_days=30))
    found = given(rows=rows, kits=kits, make_kit=np.array([0, 1]))
    found = replace(found, lots=(lot("P-1", PACK, 4),), pitch_last=np.full((1, 1), 99))
    plan = planned(with_orders(found, (7, 10)))
    assert [level.level for level in plan.levels] == [0, 1]
    assert runs_of(plan) == [(7, 10), (7, 6)]
    assert needed(plan, HOP) == [(CauseKind.SUGGESTED, 7, 180 * G)]


def test_a_lot_that_will_have_expired_does_not_count():
    found = given(lots=(lot("M-1", MALT, 100 * KG, last_on=day(6)),))
    assert bought(planned(with_runs(found, (7, 10))), MALT) == [(7, 51 * KG)]
    assert bought(planned(with_runs(found, (6, 10))), MALT) == []


def test_a_hop_lot_counts_with_the_alpha_acid_that_it_still_has():
    lots = (lot("H-1", HOP, 300 * G, alpha=0.10, decay=0.02),)
    plan = planned(with_runs(given(lots=lots), (7, 10)))
    lacking = 30 * G - 30 * G * exp(-0.14)  # milligrams of alpha acid
    ((_, quantity),) = bought(plan, HOP)
    assert quantity == pytest.approx(lacking / 0.10, abs=20)


def test_a_stronger_lot_serves_more_kits_than_its_weight_says():
    lots = (lot("H-1", HOP, 200 * G, alpha=0.15),)
    assert bought(planned(with_runs(given(lots=lots), (7, 10))), HOP) == []


def test_hops_are_bought_at_the_planning_alpha_of_the_crop_that_is_sold_then():
    found = change(given(), HOP, crops=((date(2026, 3, 5), 0.12),), work_loss=0.04)
    plan = planned(with_runs(found, (2, 10), (7, 10)))
    assert [q for _, q in bought(plan, HOP)] == [-(-(300 * G + 250 * G) * 100 // 96)]


def test_yeast_that_will_have_died_does_not_count():
    lots = (lot("Y-1", YEAST, 20),)
    found = replace(with_orders(given(lots=lots), (3, 5), (9, 5)), **pitches(5))
    assert bought(planned(found), YEAST) == [(9, 5)]


def test_the_pickier_kit_gets_the_fresher_yeast():
    rows = (*ROWS, (1, YEAST, 1, 0.0, True, nan, 1))
    kits = (PlanKit(kit_id=1, item=KIT, shelf_days=30), PlanKit(kit_id=2, item=PACK, shelf_days=9))
    lots = (lot("OLD", YEAST, 10), lot("NEWER", YEAST, 10))
    found = given(
        rows=rows, kits=kits, make_kit=np.array([0, 1]), lots=lots,
        pitch_item=np.array([YEAST, YEAST]), pitch_last=np.array([[3, 99], [99, 99]]),
    )  # fmt: skip
    both = with_orders(found, (7, 10), (7, 10))
    lines = (both.order_lines[0], replace(both.order_lines[1], make=1))
    plan = planned(replace(both, order_lines=lines))
    assert bought(plan, YEAST) == []


def test_what_is_on_order_counts_from_the_end_of_its_quarantine():
    found = change(given(on_order=(OnOrder(code="PO-1", item=BOX, quantity=10, due_on=day(5)),)),
                   BOX, quarantine_days=2)  # fmt: skip
    assert bought(planned(with_runs(found, (7, 10))), BOX) == []
    assert bought(planned(with_runs(found, (6, 10))), BOX) == [(6, 10)]


def test_a_receipt_that_is_late_counts_from_today():
    found = given(on_order=(OnOrder(code="PO-1", item=BOX, quantity=10, due_on=day(-5)),))
    assert bought(planned(with_runs(found, (0, 10))), BOX) == []


def test_a_reserved_run_takes_what_its_batches_hold():
    found = with_runs(given(), (3, 10))
    found = replace(
        found,
        run_lines=(PlanRunLine(run=0, make=0, kits=10, allotted=True),),
        allotted=(Allotted(run=0, item=HOP, quantity=290 * G),),
    )
    plan = planned(found)
    assert needed(plan, HOP) == [(CauseKind.RUN, 3, 290 * G)]
    assert needed(plan, MALT) == []


def test_a_safety_stock_is_ordered_for_the_day_it_can_come_and_needs_for_their_own():
    found = change(given(lots=(lot("B-1", BOX, 8),)), BOX, safety_stock=20, lot_rule="lot_for_lot")
    assert bought(planned(found), BOX) == [(5, 12)]
    plan = planned(with_runs(found, (2, 10)))
    assert bought(plan, BOX) == [(2, 2), (5, 20)]


def test_what_a_contract_holds_is_called_off_first():
    contract = PlanContract(
        code="C-1", offer_id=1 + BOX, left=8, pack_price=60, from_on=day(0), until_on=day(60)
    )
    found = given(contracts=(contract,))
    plan = planned(with_runs(change(found, BOX, lot_rule="lot_for_lot"), (6, 5), (9, 5)))
    rows = [(b.contract, b.quantity, b.cost) for b in plan.buys if b.item == BOX]
    assert rows == [("C-1", 5, 300), ("C-1", 3, 180), ("", 2, 200)]


def called_off(
    left: int, *runs: tuple[int, int], **sold: object
) -> list[tuple[str, int, int, int]]:
    """Return what is bought of boxes on a contract that ends on day 10 and states no price."""
    contract = PlanContract(
        code="C-1", offer_id=1 + BOX, left=left, pack_price=None, from_on=day(0), until_on=day(10)
    )
    found = given(contracts=(contract,), offers=(offer(BOX, **sold),))
    plan = planned(with_runs(change(found, BOX, lot_rule="lot_for_lot"), *runs))
    return [(buy.contract, buy.bucket, buy.quantity, buy.cost) for buy in plan.buys]


def test_a_contract_without_a_price_is_called_off_at_that_of_the_fewest_packs():
    assert called_off(4, (6, 8), breaks=((10, 90), (20, 80))) == [
        ("C-1", 6, 4, 360),
        ("", 6, 10, 900),
    ]


def test_what_is_left_over_of_a_call_off_serves_after_the_contract_has_ended():
    assert called_off(25, (9, 1), (20, 20), pack_quantity=25) == [("C-1", 9, 25, 100)]


def test_a_contract_is_called_off_for_what_comes_in_its_days_and_waits_in_quarantine():
    contract = PlanContract(
        code="C-1", offer_id=1 + BOX, left=99, pack_price=60, from_on=day(0), until_on=day(10)
    )
    found = change(given(contracts=(contract,)), BOX, lot_rule="lot_for_lot", quarantine_days=3)
    plan = planned(with_runs(found, (13, 5), (14, 5)))
    rows = [(buy.contract, buy.bucket, buy.quantity) for buy in plan.buys if buy.item == BOX]
    assert rows == [("C-1", 13, 5), ("", 14, 5)]


def test_a_lot_serves_from_the_day_it_can_be_used():
    found = given(lots=(lot("B-1", BOX, 10, usable_from=day(5)),))
    assert bought(planned(with_runs(found, (4, 10))), BOX) == [(4, 10)]
    assert bought(planned(with_runs(found, (5, 10))), BOX) == []


def test_what_is_on_order_serves_no_longer_than_it_keeps():
    coming = OnOrder(item=BOX, code="PO-1", due_on=day(2), quantity=10)
    found = change(given(on_order=(coming,)), BOX, shelf_days=7)
    assert bought(planned(with_runs(found, (9, 10))), BOX) == []
    assert bought(planned(with_runs(found, (10, 10))), BOX) == [(10, 10)]


def test_kits_that_an_open_run_packs_serve_no_longer_than_they_keep():
    found = with_runs(change(given(), KIT, shelf_days=7), (2, 10))
    assert runs_of(planned(with_orders(found, (9, 10)))) == []
    assert runs_of(planned(with_orders(found, (10, 10)))) == [(10, 10)]


def test_what_is_bought_keeps_from_the_day_it_comes_and_not_from_the_day_it_is_free():
    boxes = {"lot_rule": "period", "period_days": 20, "shelf_days": 7, "quarantine_days": 3}
    found = change(given(), BOX, **boxes)
    plan = planned(with_runs(found, (7, 5), (11, 5), (12, 5)))
    assert bought(plan, BOX) == [(7, 10), (12, 5)]


def test_what_is_foreseen_after_the_last_day_of_sale_is_not_wanted():
    kits = (PlanKit(kit_id=1, item=KIT, shelf_days=30, last_sale_on=day(12)),)
    found = given(kits=kits, forecast=np.array([[4, 5, 0, 0]]), lots=(lot("K-1", KIT, 9),))
    assert needed(planned(found), YEAST) == [(CauseKind.FORECAST, 6, 4)]


def test_order_days_follow_the_calendars_of_house_and_supplier():
    delivery = Delivery(
        lead_days=3, counts_working_days=True, order_weekdays="1", quarantine_days=1
    )
    found = given(calendar=WorkingDays(weekdays="01234"), offers=(offer(BOX, delivery=delivery),))
    (buy,) = planned(with_runs(found, (14, 5))).buys
    # needed on Monday 16, checked from Friday 13 (Sunday is no working day), ordered on Tuesday 10
    assert (buy.days.arrive_by, buy.days.order_by) == (day(11), day(8))


def test_only_planned_runs_are_planned_for_if_asked():
    found = with_orders(with_runs(given(), (2, 4)), (7, 10))
    plan = planned(replace(found, suggest=False))
    assert runs_of(plan) == []
    assert needed(plan, BOX) == [(CauseKind.RUN, 2, 4)]
    assert needed(plan, YEAST) == [(CauseKind.ORDER, 7, 4)]


def test_a_week_of_an_item_starts_with_its_receipts_and_ends_with_what_is_left():
    lots = (lot("B-1", BOX, 8, last_on=day(8)),)
    plan = planned(with_runs(given(lots=lots), (1, 3), (9, 4)))
    first, second, *_ = phases(plan, BOX)
    assert (first.gross, first.expired, first.projected) == (3, 0, 5)
    assert (second.gross, second.expired, second.net, second.projected) == (4, 5, 4, 0)


SOME = st.lists(st.tuples(st.integers(-2, 27), st.integers(1, 40)), max_size=4)


@settings(max_examples=40)
@cases(
    orders=SOME,
    runs=SOME,
    forecast=st.lists(st.integers(0, 30), min_size=4, max_size=4),
    stock=st.lists(
        st.tuples(st.sampled_from([KIT, MALT, HOP, YEAST, BOX]), st.integers(1, 60),
                  st.integers(0, 30)),
        max_size=6,
    ),
    safety=st.integers(0, 20),
)  # fmt: skip
def test_pegs_make_up_what_is_needed_and_no_supply_is_used_twice(
    orders, runs, forecast, stock, safety
):
    size = {MALT: KG, HOP: 10 * G}
    lots = tuple(
        lot(f"L-{n}", thing, much * size.get(thing, 1), last_on=day(last),
            alpha=0.08 if thing == HOP else None, decay=0.001)
        for n, (thing, much, last) in enumerate(stock)
    )  # fmt: skip
    found = given(lots=lots, forecast=np.array([forecast]))
    found = change(with_runs(with_orders(found, *orders), *runs), BOX, safety_stock=safety)
    plan = planned(found)
    needs, pegs = plan.needs, plan.netting.pegs
    served = np.zeros(len(needs), dtype=np.int64)
    np.add.at(served, pegs.need, pegs.quantity)
    assert (served == np.where(needs.alpha > 0, needs.alpha, needs.quantity)).all()
    used = pegs.supply >= 0
    taken = np.zeros(len(plan.table))
    np.add.at(taken, pegs.supply[used], plan.takes[used])
    assert (taken <= plan.table.quantity + 20).all()  # milligrams, of alpha acid rounded up
    on = needs.bucket[pegs.need[used]]
    assert (plan.table.first[pegs.supply[used]] <= on).all()
    assert (plan.table.last[pegs.supply[used]] >= on).all()
    for item in plan.items.tolist():
        assert sum(buy.net for buy in plan.buys if buy.item == item) == plan.lacking.get(
            item, np.zeros(1)
        ).sum()  # fmt: skip
    mine = plan.buy_pegs.need >= 0
    assert (plan.buy_pegs.supply[mine] >= 0).all()
