"""Background work of planning: each task binds a body to the number of its job."""

from __future__ import annotations

from celery import shared_task

from boxwort.jobs.body import Work, Write, run_job
from planning.jobs import IMPORT_WORKBOOK, REBALANCE
from planning.queries.rebalancing import change_of, open_batches
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
