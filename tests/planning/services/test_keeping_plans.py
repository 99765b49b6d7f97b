"""Keeping a plan as it stands, and planning the runs that it suggests."""

from __future__ import annotations

from datetime import timedelta
from itertools import starmap

import pytest
from django.utils import timezone

from planning.engine.plan import planned
from planning.models import CustomerOrder, OrderLine, Plan, PlannedOrder, Run
from planning.queries.plan_figures import changes_since, kept_plan
from planning.queries.plan_input import plan_input
from planning.queries.plan_rows import suggestions
from planning.services.keeping_plans import TakenUp, keep_plan, take_up_suggestions
from tests.make import refused
from tests.planning.make import planner, store

pytestmark = pytest.mark.django_db


def ordered(made, kits=10, in_days=7, code="CO-1"):
    promised_on = timezone.localdate() + timedelta(days=in_days)
    order = CustomerOrder.objects.create(code=code, customer="Ann", promised_on=promised_on)
    OrderLine.objects.create(order=order, position=1, kit=made.kit, quantity=kits)
    return order


def standing():
    return suggestions(timezone.localdate())


def asked(run):
    return TakenUp(key=run.key, kits=tuple((line.kit_id, line.kits) for line in run.lines))


def taken_up(found):
    return take_up_suggestions(
        by=planner(), standing=found, chosen=[asked(run) for run in found.runs]
    )


def now():
    return planned(plan_input(timezone.localdate()))


def test_a_suggested_run_becomes_a_planned_run_and_is_suggested_no_more():
    made = store()
    ordered(made, kits=10)
    found = standing()
    (run,) = taken_up(found)
    assert [(line.kit, line.kits) for line in run.lines.all()] == [(made.kit, 10)]
    assert run.pack_on == found.runs[0].pack_on
    assert standing().runs == ()


def test_a_suggestion_is_taken_up_once():
    made = store()
    ordered(made)
    found = standing()
    taken_up(found)
    with refused("runs-changed"):
        taken_up(found)
    with refused("suggestion-changed"):
        take_up_suggestions(by=planner(), standing=standing(), chosen=[asked(found.runs[0])])
    assert Run.objects.count() == 1


def test_a_suggestion_that_changed_since_it_was_shown_is_not_taken_up():
    made = store()
    ordered(made)
    shown = standing().runs[0]
    ordered(made, kits=5, code="CO-2")
    with refused("suggestion-changed"):
        take_up_suggestions(by=planner(), standing=standing(), chosen=[asked(shown)])


def test_nothing_chosen_plans_nothing():
    with refused("nothing-chosen"):
        take_up_suggestions(by=planner(), standing=standing(), chosen=[])


def test_a_kept_plan_holds_what_it_suggested_and_what_that_was_for():
    made = store(hops=False)
    ordered(made, kits=10)
    kept = keep_plan(by=planner(), plan=now(), note="before the fair")
    proposed = kept.proposed.get(item=made.kit.item)
    (run,) = starmap(PlannedOrder, proposed.orders)
    assert (proposed.quantity, proposed.offer) == (10, None)
    assert (run.quantity, run.pegs, run.past_due) == (10, [["CO-1", 10]], False)
    assert run.order_by <= run.need_by == str(timezone.localdate() + timedelta(days=7))
    assert (kept.figures["kits"], kept.note) == (10, "before the fair")


def test_what_changed_since_a_plan_was_kept_is_told_by_item_and_week():
    made = store()
    ordered(made, kits=10)
    keep_plan(by=planner(), plan=now())
    kept = kept_plan(Plan.objects.get().pk)
    assert changes_since(kept, now()).rows == ()
    ordered(made, kits=5, code="CO-2")
    changed = {row.item_code: (row.before, row.now) for row in changes_since(kept, now()).rows}
    assert changed["KIT-PALE"] == (10, 15)
