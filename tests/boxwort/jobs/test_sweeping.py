from __future__ import annotations

from datetime import timedelta
from threading import Event

import pytest
from django.db import OperationalError

from boxwort.jobs import sweeping
from boxwort.jobs.claims import STOPPED_TOO_OFTEN, claim
from boxwort.jobs.models import JobState
from boxwort.jobs.services import cancel_job
from boxwort.jobs.sweeping import keep_sweeping, sweep

LEASE = 30


def test_a_job_that_no_broker_took_is_published_once(asked, broker, clock):
    job = asked()

    assert sweep() == 1
    assert sweep() == 0
    assert broker.published == [job.pk]


def test_a_published_job_that_nobody_took_is_published_again_after_a_lease(asked, broker, clock):
    job = asked()
    sweep()

    clock.wind(LEASE)
    sweep()

    assert broker.published == [job.pk, job.pk]


def test_a_job_whose_lease_ran_out_is_published_again(asked, broker, clock):
    job = asked()
    sweep()
    claim(job.pk)
    assert sweep() == 0

    clock.wind(LEASE)
    sweep()

    assert broker.published == [job.pk, job.pk]
    assert claim(job.pk) is not None


def test_a_job_for_later_is_published_when_its_time_has_come(asked, broker, clock):
    job = asked(not_before=clock.now + timedelta(hours=1))
    assert sweep() == 0

    clock.wind(3600)

    assert sweep() == 1
    assert broker.published == [job.pk]


def test_a_job_that_loses_every_worker_fails_with_a_sentence(asked, broker, clock):
    job = asked()
    for _ in range(job.most_attempts):
        claim(job.pk)
        clock.wind(LEASE)
    assert claim(job.pk) is None

    sweep()

    job.refresh_from_db()
    assert (job.state, job.error) == (JobState.FAILED, STOPPED_TOO_OFTEN)
    assert broker.published == []


def test_a_cancelled_job_that_lost_its_worker_is_cancelled(asked, planner, broker, clock):
    job = asked()
    claim(job.pk)
    cancel_job(by=planner, job=job)
    clock.wind(LEASE)

    sweep()

    job.refresh_from_db()
    assert job.state == JobState.CANCELLED
    assert broker.published == []


@pytest.mark.usefixtures("clock")
def test_the_sweep_stops_asking_a_broker_that_is_away(asked, broker, caplog):
    asked(), asked()
    broker.away = True

    assert sweep() == 0
    assert caplog.text.count("did not take it") == 1

    broker.away = False
    assert sweep() == 2


def test_sweeping_goes_on_after_the_database_was_away(monkeypatch, caplog):
    stopping = Event()
    sweeps = []

    def away_once() -> None:
        sweeps.append(len(sweeps))
        if len(sweeps) == 1:
            raise OperationalError
        stopping.set()

    monkeypatch.setattr(sweeping, "sweep", away_once)
    monkeypatch.setattr(sweeping, "close_old_connections", lambda: None)

    keep_sweeping(0, stopping)

    assert sweeps == [0, 1]
    assert "The sweep failed" in caplog.text
