"""Telling the workers that a job waits. A word that is lost is said again by the sweeper."""

from __future__ import annotations

import logging

from django.utils import timezone

from boxwort.celery import app
from boxwort.jobs.models import Job

_LOG = logging.getLogger(__name__)
_AT_MOST_A_SECOND = {
    "socket_timeout": 1,
    "socket_connect_timeout": 1,
    "max_retries": 0,
    "connect_retries_timeout": 1,
}


def publish(job_id: int, name: str) -> bool:
    """Send a job's number to the workers of its name, once; return whether the broker took it.

    A person may be waiting for the page that asked, so an absent broker costs a second at most
    and is no error: the row waits, and the sweeper publishes it when the broker is back.
    """
    jobs = Job.objects.filter(pk=job_id)
    jobs.update(published_at=timezone.now())  # before it is sent: a quick worker may change it
    options = {**app.conf.broker_transport_options, **_AT_MOST_A_SECOND}
    try:
        with app.connection_for_write(transport_options=options) as connection:
            app.send_task(name, args=[job_id], connection=connection, retry=False)
    except Exception as problem:  # noqa: BLE001 - each broker fails in its own classes
        _LOG.warning("Job %s (%s) waits: the broker did not take it: %s", job_id, name, problem)
        jobs.update(published_at=None)
        return False
    return True
