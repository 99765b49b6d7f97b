"""Who works on a job: a claim is taken, kept alive, and ended by compare-and-set on its token.

A claim is a token and a lease. Whoever holds the token of a running row works on it; when the
lease runs out (the worker was killed) anybody may take the row, with a new token, and the old
holder finds at its next word that its claim is lost.

Jobs of one name and key run one after another, so that work begun on old figures can never be
written over work done on new ones. A claim takes along what waits for the same name and key: those
rows were asked before it reads, so what it reads holds all that they were asked for.
"""

from __future__ import annotations

import uuid
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import partial
from typing import Any

from django.conf import settings
from django.db import transaction
from django.db.models import F, Q
from django.utils import timezone

from boxwort.accounts.models import User
from boxwort.accounts.services import in_one_transaction, plain
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.publishing import publish

STOPPED_TOO_OFTEN = (
    "The work stopped before it ended, as often as it may be tried. "
    "Try again; if it stops once more, read the worker's log."
)
_FIRST_WAIT_SECONDS = 2
_LONGEST_WAIT_SECONDS = 300


class Lost(Exception):  # noqa: N818 - an answer, not a fault
    """The claim belongs to someone else now, or its job has ended."""


class Cancelled(Exception):  # noqa: N818 - an answer, not a fault
    """A person asked for the job to be cancelled."""


@dataclass(frozen=True, kw_only=True)
class Claim:
    """The right to work on a job, and what the job is.

    Attributes
    ----------
    causes: the arguments of this job and of every job that joined it, oldest first.
    """

    job_id: int
    token: str
    name: str
    key: str
    by: User
    arguments: Mapping[str, Any]
    causes: tuple[Mapping[str, Any], ...]


def claim(job_id: int) -> Claim | None:
    """Take a job that waits, or whose worker was lost, together with what waits for the same key.

    Returns nothing, and changes nothing, when the job is unknown, ended, not yet due, held by
    someone, cancelled, out of attempts, or has to wait for another job of the same name and key.
    """
    token = uuid.uuid4().hex
    taken = in_one_transaction(partial(_take, job_id, token))
    return _claim_of(job_id, token) if taken else None


def _take(job_id: int, token: str) -> bool:
    job = Job.objects.filter(pk=job_id).only("name", "key").first()
    if job is None:
        return False
    alike = Job.objects.filter(
        name=job.name, key=job.key, state__in=[JobState.QUEUED, JobState.RUNNING]
    )
    list(alike.select_for_update().order_by("pk").values_list("pk"))  # locked in one order
    now = timezone.now()
    if alike.filter(state=JobState.RUNNING, lease_until__gt=now).exists():
        return False
    mine = alike.filter(_free(now), pk=job_id)
    if not mine.update(
        state=JobState.RUNNING,
        token=token,
        lease_until=_lease(),
        attempts=F("attempts") + 1,
        started_at=now,
        progress=0,
        total=0,
        stage="",
        error="",
    ):
        return False
    joining = list(alike.filter(_free(now)).exclude(pk=job_id).values_list("pk", flat=True))
    Job.objects.filter(Q(pk__in=joining) | Q(joined_to__in=joining)).update(
        state=JobState.JOINED, joined_to=job_id, ended_at=now, token=""
    )
    return True


def _free(now: datetime) -> Q:
    due = Q(state=JobState.QUEUED) & (Q(not_before=None) | Q(not_before__lte=now))
    lapsed = Q(state=JobState.RUNNING, lease_until__lte=now)
    return (due | lapsed) & Q(cancel_asked=False, attempts__lt=F("most_attempts"))


def _claim_of(job_id: int, token: str) -> Claim:
    job = Job.objects.select_related("by").get(pk=job_id)
    joined = Job.objects.filter(joined_to=job_id).order_by("pk").values_list("pk", "arguments")
    causes = sorted([*joined, (job.pk, job.arguments)])
    return Claim(
        job_id=job_id,
        token=token,
        name=job.name,
        key=job.key,
        by=job.by,
        arguments=job.arguments,
        causes=tuple(arguments for _, arguments in causes),
    )


def renew(held: Claim, **changes: Any) -> None:
    """Extend the lease of a claim that is still held, changing the row's other fields with it.

    Inside a transaction this also locks the row, so that nobody takes the job before the commit.

    Raises
    ------
    Lost: when the token is no longer that of a running job.
    Cancelled: when a person asked for that.
    """
    row = Job.objects.filter(pk=held.job_id, token=held.token, state=JobState.RUNNING)
    if row.filter(cancel_asked=False).update(lease_until=_lease(), **changes):
        return
    if row.exists():
        raise Cancelled
    raise Lost


def asked_to_stop(held: Claim) -> bool:
    """Extend the lease, and say whether a person asked for the job to be cancelled.

    Raises
    ------
    Lost: as `renew`.
    """
    try:
        renew(held)
    except Cancelled:
        return True
    return False


def report(held: Claim, progress: int, total: int, stage: str = "") -> None:
    """Say how far the work is (``progress`` of ``total``) and extend the lease; see `renew`."""
    renew(held, progress=progress, total=total, stage=stage)


def finish(held: Claim, result: Mapping[str, Any]) -> None:
    """Mark a job done, in the transaction of its write, which is undone if the claim was lost.

    Raises
    ------
    Lost, Cancelled: as `renew`.
    """
    renew(
        held,
        state=JobState.DONE,
        result=plain(result),
        ended_at=timezone.now(),
        token="",
        stage="",
    )
    _publish_next(held)


def give_up(held: Claim, error: str) -> None:
    """Mark a job failed for good, with a sentence for the person who reads it."""
    _end(held, state=JobState.FAILED, error=error)


def stop(held: Claim) -> None:
    """Mark a job cancelled, as a person asked."""
    _end(held, state=JobState.CANCELLED)


def stop_with(held: Claim, result: Mapping[str, Any]) -> None:
    """Mark a job cancelled in the transaction that writes what it had so far.

    Raises
    ------
    Lost: the claim is someone else's now, which undoes the write.
    """
    if not _end(held, state=JobState.CANCELLED, result=plain(result)):
        raise Lost


def fail(held: Claim, error: str) -> None:
    """Queue a job again after a wait that grows with each attempt, or give up after the last."""
    row = Job.objects.filter(pk=held.job_id, token=held.token, state=JobState.RUNNING)
    attempts = row.values_list("attempts", flat=True).first()
    if attempts is None:
        return
    again = row.filter(attempts__lt=F("most_attempts"), cancel_asked=False).update(
        state=JobState.QUEUED,
        token="",
        not_before=timezone.now() + wait_after(attempts),
        published_at=None,
        error=error,
    )
    if not again:
        give_up(held, error)


def wait_after(attempts: int) -> timedelta:
    """Return how long a job waits before it is tried again.

    >>> [wait_after(attempts).seconds for attempts in (1, 2, 3, 9)]
    [2, 8, 32, 300]
    """
    seconds = _FIRST_WAIT_SECONDS * 4 ** (attempts - 1)
    return timedelta(seconds=min(seconds, _LONGEST_WAIT_SECONDS))


def _end(held: Claim, **changes: Any) -> bool:
    row = Job.objects.filter(pk=held.job_id, token=held.token, state=JobState.RUNNING)
    ended = bool(row.update(ended_at=timezone.now(), token="", **changes))
    if ended:
        _publish_next(held)
    return ended


def _publish_next(held: Claim) -> None:
    """Publish, after the commit, what was asked for this name and key while the job ran."""
    transaction.on_commit(partial(_publish_waiting, held.name, held.key), robust=True)


def _publish_waiting(name: str, key: str) -> None:
    waiting = Job.objects.filter(name=name, key=key, state=JobState.QUEUED)
    due = waiting.filter(Q(not_before=None) | Q(not_before__lte=timezone.now()))
    newest = due.order_by("-pk").values_list("pk", flat=True).first()
    if newest is not None:
        publish(newest, name)


def _lease() -> datetime:
    return timezone.now() + timedelta(seconds=settings.JOB_LEASE_SECONDS)
