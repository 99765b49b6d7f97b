"""Asking for an allocation, keeping what was found, and reserving a run by it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict
from datetime import date, timedelta
from functools import partial
from typing import Any

from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import fingerprint, service, write_history
from boxwort.errors import Refusal
from boxwort.jobs.models import Job
from boxwort.jobs.services import ask
from planning.engine.horizon import kits_of
from planning.engine.improving import Allocated
from planning.engine.lacking import lacking
from planning.jobs import ALLOCATE
from planning.models import Batch, LotPlan, Run
from planning.queries.allocated_cuts import allocated_cut
from planning.queries.cuts import RunPlan
from planning.queries.horizons import RunsAhead
from planning.services.reserving import reserve_run

BEST = "best"
BOUNDED = "bounded"
STOPPED = "stopped"


@service
def ask_allocation(*, by: User, until_on: date | None = None) -> Job:
    """Ask for a search for a better allocation of the planned runs, up to the horizon or a day."""
    weeks = timedelta(weeks=site_settings().horizon_weeks)
    until_on = until_on or timezone.localdate() + weeks
    return ask(kind=ALLOCATE, key="planned runs", arguments={"until_on": until_on}, by=by)


def refuse_nothing_planned(ahead: RunsAhead, until_on: date) -> None:
    """Refuse to search where no run is planned.

    Raises
    ------
    Refusal: ``nothing-planned``.
    """
    if not ahead.lines:
        raise Refusal(
            "nothing-planned",
            f"No run up to {until_on:%d %B %Y} is planned and not reserved, so no lots are to be "
            "chosen.",
            "Plan a run, or look further ahead.",
        )


@service
def keep_lot_plan(
    *, by: User, job_id: int, until_on: date, ahead: RunsAhead, found: Allocated
) -> dict[str, Any]:
    """Keep the lots that a search chose, with how good the answer is known to be."""
    LotPlan.objects.filter(job_id=job_id).update(job=None)  # a search that was asked for again
    plan = LotPlan.objects.create(
        made_by=by,
        job_id=job_id,
        until_on=until_on,
        inputs=fingerprint(ahead.inputs),
        status=STOPPED if found.stopped else BEST if found.proved else BOUNDED,
        bound=found.fewest_batches,
        gap=found.gap,
        answer={"lines": _lines(ahead, found), "inputs": ahead.inputs},
        figures={
            "wanted": sum(line.kits for line in ahead.horizon.lines),
            "most_kits": found.most_kits,
            "fewest_batches": found.fewest_batches,
            "chosen": asdict(found.aims),
            "greedy": asdict(found.greedy),
            "literal": asdict(found.literal),
        },
    )
    write_history(by=by, thing=plan, action="allocate lots", after={"status": plan.status})
    return {
        "lot_plan": plan.pk,
        "kits": found.aims.kits,
        "batches": found.aims.batches,
        "batches_before": found.greedy.batches,
    }


def _lines(ahead: RunsAhead, found: Allocated) -> list[Mapping[str, Any]]:
    short = lacking(ahead.horizon, found.answer)
    return [
        {
            "line": line.line,
            "run": ahead.lines[line.line].run_id,
            "kits": line.kits,
            "possible": kits_of(found.answer[line.line]),
            "firm": sum(line.firm.values()),
            "lacks": sorted(short.get(line.line, ())),
            "batches": [
                {
                    "kits": stretch.kits,
                    "lots": {item: lot.lot for item, lot in stretch.lots.items()},
                }
                for stretch in found.answer[line.line]
            ],
        }
        for line in ahead.horizon.lines
    ]


def reserve_as_allocated(
    *, by: User, run: Run, expected: int, plan: LotPlan, cut: RunPlan | None = None
) -> list[Batch]:
    """Reserve a planned run from the lots that an allocation chose for it, or nothing of it.

    A caller that opens a transaction of its own hands in a ``cut`` read before it.

    Raises
    ------
    Refusal: ``allocation-out-of-date`` where the run, or a lot chosen for it, is not what it was;
        and everything that :func:`reserve_run` refuses.
    """
    again = partial(allocated_cut, plan)
    return reserve_run(by=by, run=run, expected=expected, cut=cut, again=again)
