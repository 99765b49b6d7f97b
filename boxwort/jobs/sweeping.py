"""Seeing to it that no job is forgotten, whatever happened to a broker or a worker."""

from __future__ import annotations

import logging
from datetime import timedelta
from threading import Event

from django.conf import settings
from django.db import Error, close_old_connections
from django.db.models import F, Q
from django.utils import timezone

from boxwort.jobs.claims import STOPPED_TOO_OFTEN
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.publishing import publish

_LOG = logging.getLogger(__name__)
_MOST_NEW = 1000
_MOST_AGAIN = 50  # a busy worker's queue is not filled over and over with what it already holds


def sweep() -> int:
    """Publish what waits or whose lease ran out, and end what cannot go on; return how many.

    It may run anywhere, as often as one likes and several at once: a job published twice is
    claimed once. It stops at the first word that the broker does not take.
    """
    _end_the_hopeless()
    published = 0
    for job_id, name in _to_publish():
        if not publish(job_id, name):
            break
        published += 1
    return published


def keep_sweeping(every_seconds: float, stopping: Event) -> None:
    """Sweep until told to stop; a database that is away for a while is waited for."""
    while not stopping.is_set():
        close_old_connections()
        try:
            sweep()
        except Error:
            _LOG.exception("The sweep failed; the next one follows in %s s.", every_seconds)
        close_old_connections()
        stopping.wait(every_seconds)


def _end_the_hopeless() -> None:
    now = timezone.now()
    lapsed = Job.objects.filter(state=JobState.RUNNING, lease_until__lte=now)
    lapsed.filter(cancel_asked=True).update(state=JobState.CANCELLED, ended_at=now, token="")
    lapsed.filter(attempts__gte=F("most_attempts")).update(
        state=JobState.FAILED, ended_at=now, token="", error=STOPPED_TOO_OFTEN
    )


def _to_publish() -> list[tuple[int, str]]:
    now = timezone.now()
    due = Q(state=JobState.QUEUED) & (Q(not_before=None) | Q(not_before__lte=now))
    lapsed = Q(state=JobState.RUNNING, lease_until__lte=now)
    ready = Job.objects.filter(due | lapsed)
    a_lease_ago = now - timedelta(seconds=settings.JOB_LEASE_SECONDS)
    never = ready.filter(published_at=None).order_by("pk")
    again = ready.filter(published_at__lte=a_lease_ago).order_by("published_at", "pk")
    return [
        *never.values_list("pk", "name")[:_MOST_NEW],
        *again.values_list("pk", "name")[:_MOST_AGAIN],
    ]
