"""The planned runs of a horizon, the stock they share, and the orders that wait for them."""

from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from planning.models import CustomerOrder, OrderLine
from planning.queries.horizons import runs_ahead
from planning.services.reserving import reserve_run
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Contents
from recipes.services.kits import PartFacts
from tests.planning.make import PACK_ON, TODAY, store
from tests.recipes.make import offered_kit

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]
FAR = TODAY + timedelta(weeks=26)


def ordered(made, kits, days, *, dispatched=0):
    order = CustomerOrder.objects.create(
        code=f"C-{CustomerOrder.objects.count() + 1}",
        customer="The Copper Kettle",
        promised_on=TODAY + timedelta(days),
    )
    OrderLine.objects.create(
        order=order, position=1, kit=made.kit, quantity=kits, dispatched=dispatched
    )


def firm_of(ahead):
    """Kits for firm orders by days from today, run by run."""
    lines = sorted(ahead.horizon.lines, key=lambda line: (line.on, line.line))
    return [{(day - TODAY).days: kits for day, kits in line.firm.items()} for line in lines]


def test_runs_beyond_the_horizon_and_reserved_ones_are_left_out():
    made = store()
    planned = made.plan(4)
    last = made.plan(3, pack_on=FAR)
    made.plan(5, pack_on=FAR + timedelta(1))
    made.reserved(6)

    ahead = runs_ahead(FAR)

    assert [line.run_id for line in ahead.lines.values()] == [planned.pk, last.pk]


def test_the_stock_of_a_horizon_is_what_nobody_has_reserved():
    made = store()
    made.plan(4)
    before = runs_ahead(FAR).horizon.stock
    made.reserved(6)

    after = runs_ahead(FAR).horizon.stock

    assert before.keys() == after.keys()
    assert all(after[lot] < before[lot] for lot in before)


def test_the_earliest_order_waits_for_the_first_run():
    made = store()
    made.plan(5, pack_on=PACK_ON)
    made.plan(5, pack_on=PACK_ON + timedelta(7))
    ordered(made, 4, 20)
    ordered(made, 3, 10)

    assert firm_of(runs_ahead(FAR)) == [{10: 3, 20: 2}, {20: 2}]


def test_what_left_and_what_reserved_batches_hold_is_not_waited_for():
    made = store()
    made.plan(5)
    made.reserved(2)
    ordered(made, 6, 10, dispatched=3)

    assert firm_of(runs_ahead(FAR)) == [{10: 1}]


def test_an_input_is_marked_anew_when_it_changes_and_stays_when_a_run_is_reserved():
    made = store()
    run, other = made.plan(4), made.plan(5)
    lot = made.lot(made.goods.bittering, 500_000, code="SPARE", alpha=0.09)
    before = runs_ahead(FAR).inputs
    reserve_run(by=made.by, run=run, expected=run.version)

    settled = runs_ahead(FAR, settled=[run.pk]).inputs
    made.analysed(lot, 0.08)
    measured = runs_ahead(FAR, settled=[run.pk]).inputs

    assert {name: before[name] for name in settled} == settled
    assert f"line {run.lines.get().pk}" not in settled
    changed = {name for name in settled if measured[name] != settled[name]}
    assert changed == {f"line {other.lines.get().pk}"}


def test_the_bitterness_of_a_hop_pack_is_asked_of_the_pack_and_not_of_the_kit_it_goes_into():
    made = store()
    revision, goods = made.kit.method.revision, made.goods
    hops = offered_kit(revision, "HOPS", goods, contents=Contents.HOP_PACK, parts=[])
    parts = [PartFacts(item=goods.box, quantity=1), PartFacts(item=hops.item, quantity=1)]
    kit = offered_kit(revision, "KIT-PACK", goods, parts=parts)
    for each in (hops, kit):
        plan_run(by=made.by, pack_on=PACK_ON, lines=[KitsAsked(kit=each, kits=4)])

    ahead = runs_ahead(FAR)

    lines = {ahead.lines[line.line].kit: line for line in ahead.horizon.lines}
    assert lines[hops].kit.target_ibu == kit.target_ibu
    assert (lines[kit].kit.target_ibu, lines[kit].kit.hop_lines) == (0.0, [])
    assert lines[kit].divisible["HOPS"] == [1]


def test_as_many_statements_for_one_run_as_for_many():
    made = store()
    made.plan(2)
    with CaptureQueriesContext(connection) as one:
        runs_ahead(FAR)
    for _ in range(5):
        made.plan(2)
    with CaptureQueriesContext(connection) as many:
        runs_ahead(FAR)
    assert len(many) == len(one)
