"""Running the body of a job: compute outside any transaction, write once inside a short one.

A task is a door: it hands a job's number and a body to `run_job`. ::

    @app.task(name=REBALANCE.name)
    def rebalance(job_id: int) -> None:
        run_job(job_id, rebalance_body)

    def rebalance_body(work: Work) -> Write:
        weights = computed(work.arguments["run_id"])
        work.report(1, 2, "weighing")
        return lambda: write_proposals(by=work.by, weights=weights)
"""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import in_one_transaction
from boxwort.errors import Refusal
from boxwort.jobs import claims
from boxwort.jobs.claims import Cancelled, Claim, Lost

_LOG = logging.getLogger(__name__)
_FAULT = (
    "Something went wrong that this work did not expect. "
    "Nothing was changed; the worker's log has the details."
)

Write = Callable[[], Mapping[str, Any]]


@dataclass(frozen=True)
class Work:
    """What the body of a job may know and say."""

    _claim: Claim

    @property
    def job_id(self) -> int:
        """The job's number."""
        return self._claim.job_id

    @property
    def by(self) -> User:
        """Who asked for the job; its writes carry this name."""
        return self._claim.by

    @property
    def arguments(self) -> Mapping[str, Any]:
        """What the job was asked with."""
        return self._claim.arguments

    @property
    def causes(self) -> tuple[Mapping[str, Any], ...]:
        """Everything this work answers: its own arguments and those of the jobs that joined it."""
        return self._claim.causes

    def report(self, progress: int, total: int, stage: str = "") -> None:
        """Say how far the work is; do so well within a lease, for this is also the heartbeat.

        Raises
        ------
        Lost, Cancelled: let both pass; the work ends without an effect.
        """
        claims.report(self._claim, progress, total, stage)

    def stopped(self) -> bool:
        """Whether a person asked for the job to be cancelled; a heartbeat as well.

        For a body that may end early with what it has; see ``keeps`` of :func:`run_job`.

        Raises
        ------
        Lost: let it pass.
        """
        return claims.asked_to_stop(self._claim)


Body = Callable[[Work], Write]


def run_job(job_id: int, body: Body, *, keeps: bool = False) -> None:
    """Claim a job, run its body, and commit its write with the job's end, at most once.

    The body computes outside any transaction and returns its write. The write runs in one
    transaction that first renews the claim and marks the job done with the result the write
    returns; a claim lost to another worker undoes it. A refusal ends the job with its words; any
    other exception is logged and the job is tried again until its attempts are used.

    A job that was cancelled has no effect, unless the body ``keeps`` what it has: it then looks at
    :meth:`Work.stopped`, ends early, and its write is committed with the job's end as cancelled.
    """
    held = claims.claim(job_id)
    if held is None:
        return
    try:
        write = body(Work(held))
        in_one_transaction(lambda: _commit(held, write, keeps=keeps))
    except Lost:
        _LOG.warning("Job %s (%s) went to another worker; its work is dropped.", job_id, held.name)
    except Cancelled:
        claims.stop(held)
    except Refusal as refusal:
        claims.give_up(held, f"{refusal.what} {refusal.remedy}")
    except Exception:  # noqa: BLE001 - a fault of the body is the job's, not the worker's
        _LOG.exception("Job %s (%s) failed", job_id, held.name)
        claims.fail(held, _FAULT)


def _commit(held: Claim, write: Write, *, keeps: bool) -> None:
    if keeps and claims.asked_to_stop(held):
        claims.stop_with(held, write())
        return
    claims.renew(held)
    claims.finish(held, write())
