"""Background work of planning: each task binds a body to the number of its job."""

from __future__ import annotations

from datetime import date
from time import monotonic

from celery import shared_task

from boxwort.jobs.body import Work, Write, run_job
from boxwort.jobs.claims import Cancelled, Lost
from planning.engine.improving import allocated
from planning.jobs import ALLOCATE, IMPORT_WORKBOOK, REBALANCE
from planning.queries.horizons import runs_ahead
from planning.queries.rebalancing import change_of, open_batches
from planning.services.allocating import keep_lot_plan, refuse_nothing_planned
from planning.services.importing import run_import
from planning.services.proposing import write_proposals


@shared_task(name=REBALANCE.name)
def rebalance(job_id: int) -> None:
    """Re-balance the reserved batches of one kit."""
    run_job(job_id, rebalance_body)


@shared_task(name=IMPORT_WORKBOOK.name)
def import_workbook(job_id: int) -> None:
    """Import an uploaded workbook."""
    run_job(job_id, run_import)


def rebalance_body(work: Work) -> Write:
    """Work out the new weights batch by batch; the write makes the proposals."""
    batches = open_batches(work.arguments["kit_id"])
    changes = []
    for done, batch in enumerate(batches, start=1):
        changes.append(change_of(batch))
        work.report(done, len(batches), f"balancing batch {batch.code}")
    cause = "; ".join(dict.fromkeys(cause["cause"] for cause in work.causes))
    return lambda: write_proposals(by=work.by, changes=changes, cause=cause)


@shared_task(name=ALLOCATE.name)
def allocate(job_id: int) -> None:
    """Search for a better allocation; a search that is cancelled keeps what it has."""
    run_job(job_id, allocate_body, keeps=True)


def allocate_body(work: Work) -> Write:
    """Choose lots for the planned runs of a horizon; the write keeps them as a plan."""
    until_on = date.fromisoformat(work.arguments["until_on"])
    ahead = runs_ahead(until_on)
    refuse_nothing_planned(ahead, until_on)
    watched = Watched(work)
    found = allocated(ahead.horizon, report=watched.report, stop=watched.stopped)
    return lambda: keep_lot_plan(
        by=work.by, job_id=work.job_id, until_on=until_on, ahead=ahead, found=found
    )


class Watched:
    """A search that a person may stop; asked often, it looks at the job's row once in a while.

    A claim that was lost stops it too: the write finds that out.
    """

    _SECONDS = 1.0

    def __init__(self, work: Work) -> None:
        self._work = work
        self._stopped = False
        self._looked = monotonic()

    def report(self, done: int, total: int, stage: str) -> None:
        """Say how far the search is."""
        if self._stopped:
            return
        try:
            self._work.report(done, total, stage)
        except Cancelled:
            self._stopped = True

    def stopped(self) -> bool:
        """Whether to stop; the clock says when to look, and nothing of the answer."""
        if not self._stopped and monotonic() - self._looked > self._SECONDS:
            self._looked = monotonic()
            try:
                self._stopped = self._work.stopped()
            except Lost:
                self._stopped = True
        return self._stopped
