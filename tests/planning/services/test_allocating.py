from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from boxwort.jobs import claims
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.services import cancel_job
from inventory.models import Lot
from inventory.services.lots import hold_lot
from planning import tasks
from planning.models import Batch, LotPlan, RunState
from planning.queries.horizons import runs_ahead
from planning.services.allocating import ask_allocation, reserve_as_allocated
from planning.services.reserving import reserve_run
from planning.tasks import allocate
from tests.make import refused
from tests.planning.make import PACK_ON, grams, planner, store

pytestmark = [
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("today_stands_still"),
]


def searched(**facts) -> LotPlan:
    job = ask_allocation(by=planner(), **facts)
    allocate(job.pk)
    job.refresh_from_db()
    assert job.state == JobState.DONE, job.error
    return LotPlan.objects.get(job=job)


def two_runs():
    """Bittering hops of 300 and 340 g: the greedy way cuts a run that another order would not."""
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), code="AROMA", alpha=0.06)
    made.lot(made.goods.bittering, grams(400), code="OLD", alpha=0.08, best_before_on=PACK_ON)
    made.lot(made.goods.bittering, grams(500), code="NEW", alpha=0.08)
    return made, made.plan(6), made.plan(6)


def test_a_search_keeps_lots_for_every_planned_run():
    _, first, second = two_runs()

    plan = searched()

    assert plan.figures["chosen"]["kits"] == plan.figures["wanted"] == 12
    assert [row["run"] for row in plan.answer["lines"]] == [first.pk, second.pk]
    assert plan.status == "best"
    assert plan.bound == plan.figures["chosen"]["batches"]
    assert plan.gap == 0
    assert History.objects.filter(action="allocate lots").count() == 1


def test_a_run_is_reserved_from_the_lots_that_were_chosen():
    made, run, other = two_runs()
    plan = searched()

    for each in (run, other):
        each.refresh_from_db()
        reserve_as_allocated(by=made.by, run=each, expected=each.version, plan=plan)

    chosen = [
        (row["line"], batch["kits"], sorted(batch["lots"].values()))
        for row in plan.answer["lines"]
        for batch in row["batches"]
    ]
    assert [
        (batch.run_line_id, batch.kits, hops_of(batch)) for batch in Batch.objects.order_by("pk")
    ] == chosen


def hops_of(batch):
    rows = batch.allocations.filter(current=True, bill_line__role__gt="")
    return sorted({row.lot_id for row in rows})


def test_reserving_one_run_leaves_the_allocation_of_the_other_as_it_was():
    made, run, other = two_runs()
    plan = searched()
    run.refresh_from_db()
    reserve_as_allocated(by=made.by, run=run, expected=run.version, plan=plan)

    ahead = runs_ahead(plan.until_on, settled=[run.pk])

    stored = plan.answer["inputs"]
    assert {name: mark for name, mark in stored.items() if name in ahead.inputs} == ahead.inputs
    assert set(ahead.lines) == {other.lines.get().pk}


def test_an_allocation_whose_lot_was_held_since_is_refused():
    made, run, _ = two_runs()
    plan = searched()
    (batch,) = [row["batches"][0] for row in plan.answer["lines"] if row["run"] == run.pk]
    lot = Lot.objects.get(pk=batch["lots"][made.goods.bittering.code])
    hold_lot(by=made.by, lot=lot, expected=lot.version, reason="smells of cheese")
    run.refresh_from_db()

    with refused("allocation-out-of-date"):
        reserve_as_allocated(by=made.by, run=run, expected=run.version, plan=plan)
    run.refresh_from_db()
    assert run.state == RunState.PLANNED


def test_reserved_batches_stay_where_they_are():
    made, run, _ = two_runs()
    reserve_run(by=made.by, run=run, expected=run.version)
    held = list(Batch.objects.values_list("pk", "version"))

    plan = searched()

    assert [row["run"] for row in plan.answer["lines"]] != [run.pk]
    assert list(Batch.objects.values_list("pk", "version")) == held


def test_a_search_without_planned_runs_says_so():
    store()
    job = ask_allocation(by=planner())
    allocate(job.pk)
    job.refresh_from_db()
    assert job.state == JobState.FAILED
    assert "Plan a run" in job.error


def test_a_cancelled_search_keeps_the_last_good_answer(monkeypatch):
    two_runs()
    job = ask_allocation(by=planner())
    search = tasks.allocated

    def cancelled_meanwhile(horizon, *, report, stop):
        report(0, 2, "serving run after run")
        cancel_job(by=planner(), job=Job.objects.get(pk=job.pk))
        monkeypatch.setattr(tasks.Watched, "_SECONDS", -1.0)
        return search(horizon, report=report, stop=stop)

    monkeypatch.setattr(tasks, "allocated", cancelled_meanwhile)
    allocate(job.pk)

    job.refresh_from_db()
    plan = LotPlan.objects.get()
    assert (job.state, plan.status, plan.job_id) == (JobState.CANCELLED, "stopped", job.pk)
    assert job.result["lot_plan"] == plan.pk
    assert plan.figures["chosen"]["kits"] == 12


def test_a_search_that_lost_its_claim_writes_nothing(monkeypatch):
    two_runs()
    job = ask_allocation(by=planner())
    search = tasks.allocated

    def overtaken(horizon, **watched):
        Job.objects.filter(pk=job.pk).update(token="another")
        monkeypatch.setattr(tasks.Watched, "_SECONDS", -1.0)
        with pytest.raises(claims.Lost):
            watched["report"](0, 2, "too late")
        return search(horizon, stop=watched["stop"])

    monkeypatch.setattr(tasks, "allocated", overtaken)
    allocate(job.pk)

    assert not LotPlan.objects.exists()
