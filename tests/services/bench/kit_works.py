"""Scenes of a kit works: runs that want the same lot, and a worker that dies re-balancing."""

from __future__ import annotations

import os
import signal
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier

from django.db import connection

from boxwort.errors import Refusal
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.supervisor import running_worker
from inventory.models import Lot, LotStock
from inventory.queries.verify import stock_differences
from planning.models import Proposal, Run
from planning.services.reserving import cancel_run, reserve_run
from tests.planning.make import TODAY, grams, store
from tests.services.bench.scenes import until


def last_of_a_lot() -> dict[str, object]:
    """Let two runs reserve at the same moment what only one of them can have, eight times."""
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(450), code="LAST", alpha=0.08)
    start = Barrier(2)

    def reach(run_id: int) -> str:
        run = Run.objects.get(pk=run_id)
        start.wait()
        try:
            reserve_run(by=made.by, run=run, expected=run.version)
        except Refusal as refusal:
            return refusal.code
        finally:
            connection.close()
        return "reserved"

    outcomes = set()
    with ThreadPoolExecutor(2) as pool:
        for _ in range(8):
            runs = [made.plan(10), made.plan(10)]
            outcomes.add(tuple(sorted(pool.map(reach, [run.pk for run in runs]))))
            for run in runs:
                run.refresh_from_db()
                cancel_run(by=made.by, run=run, expected=run.version)
    return {
        "outcomes": sorted(outcomes),
        "reserved": sum(LotStock.objects.values_list("reserved", flat=True)),
        "differences": stock_differences(),
    }


def killed_in_rebalance() -> dict[str, object]:
    """Kill the worker while it re-balances, and let nobody help it."""
    made = store()
    for _ in range(20):
        made.reserved(1)
    with running_worker() as worker:
        made.analysed(Lot.objects.get(code="BITTER-A"), 0.07, sampled_on=TODAY)
        until(lambda: Job.objects.filter(state=JobState.RUNNING, progress__gt=0).exists())
        os.kill(worker.pid, signal.SIGKILL)
        caught = Job.objects.get().state == JobState.RUNNING
        until(lambda: Job.objects.get().state == JobState.DONE)
    return {
        "caught": caught,
        "attempts": Job.objects.get().attempts,
        "proposals": Proposal.objects.count(),
        "batches": Proposal.objects.values("batch").distinct().count(),
    }
