from __future__ import annotations

from datetime import timedelta

import pytest
from django.db import transaction

from boxwort.accounts.models import History
from boxwort.errors import Refusal
from boxwort.jobs.claims import claim, finish, give_up, report
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.services import cancel_job, retry_job


def test_a_job_is_published_when_what_asked_for_it_is_committed(
    asked, broker, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        job = asked()
        assert broker.published == []

    job.refresh_from_db()
    assert broker.published == [job.pk]
    assert job.published_at is not None


@pytest.mark.django_db(transaction=True)
def test_a_job_asked_for_in_a_change_that_fails_was_never_asked(asked, broker):
    def change_that_fails() -> None:
        with transaction.atomic():
            asked()
            raise LookupError

    with pytest.raises(LookupError):
        change_that_fails()

    assert not Job.objects.exists()
    assert broker.published == []


@pytest.mark.django_db(transaction=True)
def test_without_a_broker_the_job_waits_and_the_change_stands(asked, broker, caplog):
    broker.away = True

    job = asked()

    job.refresh_from_db()
    assert (job.state, job.published_at) == (JobState.QUEUED, None)
    assert "the broker did not take it" in caplog.text


def test_a_job_for_later_is_left_to_the_sweeper(
    asked, broker, clock, django_capture_on_commit_callbacks
):
    with django_capture_on_commit_callbacks(execute=True):
        asked(not_before=clock.now + timedelta(hours=1))

    assert broker.published == []


def test_dates_in_the_arguments_are_kept_as_text(asked, clock):
    assert asked(arguments={"brew_on": clock.now.date()}).arguments == {"brew_on": "2026-03-02"}


def test_a_waiting_job_is_cancelled_at_once(asked, planner):
    job = asked()

    cancel_job(by=planner, job=job)

    assert job.state == JobState.CANCELLED
    assert claim(job.pk) is None
    assert History.objects.get().action == "cancel job"


def test_a_running_job_is_asked_to_stop(asked, planner):
    job = asked()
    claim(job.pk)

    cancel_job(by=planner, job=job)

    assert (job.state, job.cancel_asked) == (JobState.RUNNING, True)


@pytest.mark.django_db(transaction=True)
def test_an_ended_job_cannot_be_cancelled(asked, planner):
    job = asked()
    finish(claim(job.pk), {})

    with pytest.raises(Refusal, match="ended before it could be cancelled") as refused:
        cancel_job(by=planner, job=job)

    assert refused.value.code == "job-already-ended"
    assert not History.objects.exists()


@pytest.mark.django_db(transaction=True)
def test_a_failed_job_is_tried_again_with_all_its_attempts(asked, planner, broker):
    job = asked()
    give_up(claim(job.pk), "The kettle leaks.")
    broker.published.clear()

    retry_job(by=planner, job=job)

    assert (job.state, job.attempts, job.error) == (JobState.QUEUED, 0, "")
    assert broker.published == [job.pk]
    assert claim(job.pk) is not None


def test_a_cancelled_job_can_be_taken_up_again(asked, planner):
    job = asked()
    cancel_job(by=planner, job=job)

    retry_job(by=planner, job=job)

    report(claim(job.pk), 1, 2)


@pytest.mark.django_db(transaction=True)
def test_a_job_that_did_not_end_badly_is_not_tried_again(asked, planner):
    with pytest.raises(Refusal) as refused:
        retry_job(by=planner, job=asked())

    assert refused.value.code == "job-not-ended"
