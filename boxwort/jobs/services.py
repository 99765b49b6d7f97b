"""What people, and services on their behalf, do with jobs: ask, cancel, try again."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from functools import partial
from typing import Any

from django.db import transaction
from django.db.models import Q
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import plain, service, write_history
from boxwort.errors import Refusal
from boxwort.jobs.kinds import JobKind, title_of
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.publishing import publish


def ask(
    *,
    kind: JobKind,
    key: str,
    arguments: Mapping[str, Any],
    by: User,
    not_before: datetime | None = None,
) -> Job:
    """Ask for a job in the caller's transaction; it is published once that is committed.

    A request always makes a row: nothing asked is ever folded into work that may already have
    read what it works on. Folding happens when the job is claimed.

    Parameters
    ----------
    kind: the declared kind of work.
    key: the thing worked on; jobs of one kind and key run one after another.
    arguments: plain JSON values, ids rather than contents.
    by: who asked; the work is written under this name.
    not_before: the earliest moment to begin (the sweeper publishes it then).
    """
    job = Job.objects.create(
        name=kind.name,
        key=key,
        arguments=plain(arguments),
        by=by,
        not_before=not_before,
        most_attempts=kind.attempts,
    )
    if not_before is None or not_before <= timezone.now():
        _publish_after_commit(job)
    return job


@service
def cancel_job(*, by: User, job: Job) -> None:
    """Cancel a job: at once if it waits, at its next report or before its write if it runs.

    Raises
    ------
    Refusal: ``job-already-ended`` when nothing is left to cancel.
    """
    waiting = Job.objects.filter(pk=job.pk, state=JobState.QUEUED)
    running = Job.objects.filter(pk=job.pk, state=JobState.RUNNING)
    ended = {"state": JobState.CANCELLED, "ended_at": timezone.now(), "cancel_asked": True}
    if not waiting.update(**ended) and not running.update(cancel_asked=True):
        raise Refusal(
            "job-already-ended",
            f"“{title_of(job.name)}” ended before it could be cancelled.",
            "Open the job to see how it ended.",
        )
    write_history(by=by, thing=job, action="cancel job")
    job.refresh_from_db()


@service
def retry_job(*, by: User, job: Job) -> None:
    """Put a failed or cancelled job back in the queue with all its attempts.

    Raises
    ------
    Refusal: ``job-not-ended`` when it waits, runs, succeeded, or joined another job.
    """
    again = Job.objects.filter(
        Q(state=JobState.FAILED) | Q(state=JobState.CANCELLED), pk=job.pk
    ).update(
        state=JobState.QUEUED,
        attempts=0,
        not_before=None,
        published_at=None,
        ended_at=None,
        cancel_asked=False,
        error="",
    )
    if not again:
        raise Refusal(
            "job-not-ended",
            f"“{title_of(job.name)}” did not fail and was not cancelled.",
            "Only a failed or cancelled job is tried again; ask for new work instead.",
        )
    write_history(by=by, thing=job, action="retry job")
    job.refresh_from_db()
    _publish_after_commit(job)


def _publish_after_commit(job: Job) -> None:
    transaction.on_commit(partial(publish, job.pk, job.name), robust=True)
