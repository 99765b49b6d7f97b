from __future__ import annotations

from datetime import timedelta

import pytest

from boxwort.jobs.claims import Cancelled, Lost, claim, fail, finish, renew, report, stop
from boxwort.jobs.models import JobState
from boxwort.jobs.services import cancel_job

LEASE = 30


def state_of(job) -> str:
    job.refresh_from_db()
    return job.state


def test_a_number_that_no_job_has_changes_nothing(db):
    assert claim(404) is None


def test_a_waiting_job_is_claimed_once(asked):
    job = asked(arguments={"grain": "amber"})

    held = claim(job.pk)

    assert (held.arguments, held.by, held.causes) == ({"grain": "amber"}, job.by, (held.arguments,))
    assert claim(job.pk) is None
    assert (state_of(job), job.attempts) == (JobState.RUNNING, 1)


def test_a_job_is_not_claimed_before_its_time(asked, clock):
    job = asked(not_before=clock.now + timedelta(minutes=5))

    assert claim(job.pk) is None
    clock.wind(300)
    assert claim(job.pk) is not None


def test_a_job_whose_worker_was_lost_is_claimed_when_the_lease_has_run_out(asked, clock):
    job = asked()
    lost = claim(job.pk)

    clock.wind(LEASE - 1)
    assert claim(job.pk) is None
    clock.wind(1)
    held = claim(job.pk)

    assert held.token != lost.token
    with pytest.raises(Lost):
        renew(lost)
    finish(held, {})
    assert state_of(job) == JobState.DONE


def test_a_report_keeps_the_lease(asked, clock):
    job = asked()
    held = claim(job.pk)

    clock.wind(LEASE - 1)
    report(held, 3, 10, "steeping")
    clock.wind(LEASE - 1)

    assert claim(job.pk) is None
    job.refresh_from_db()
    assert (job.progress, job.total, job.stage) == (3, 10, "steeping")


def test_a_slow_worker_whose_job_nobody_took_may_still_finish(asked, clock):
    job = asked()
    held = claim(job.pk)

    clock.wind(10 * LEASE)
    finish(held, {"litres": 20})

    assert (state_of(job), job.result) == (JobState.DONE, {"litres": 20})


def test_an_ended_job_is_not_claimed_again(asked):
    job = asked()
    held = claim(job.pk)
    finish(held, {})

    assert claim(job.pk) is None
    with pytest.raises(Lost):
        finish(held, {})


def test_what_waits_for_the_same_thing_joins_the_claim(asked):
    first, second, third = (asked(arguments={"lot": lot}) for lot in (1, 2, 3))
    elsewhere = asked(key="kettle 2")

    held = claim(second.pk)

    assert held.causes == ({"lot": 1}, {"lot": 2}, {"lot": 3})
    assert [state_of(job) for job in (first, second, third, elsewhere)] == [
        JobState.JOINED,
        JobState.RUNNING,
        JobState.JOINED,
        JobState.QUEUED,
    ]
    assert first.joined_to_id == third.joined_to_id == second.pk
    assert claim(first.pk) is None


def test_what_is_asked_for_later_does_not_join_the_claim(asked, clock):
    first = asked()
    later = asked(not_before=clock.now + timedelta(days=1))

    claim(first.pk)

    assert state_of(later) == JobState.QUEUED


def test_what_is_asked_while_the_job_runs_waits_for_its_end(
    asked, broker, django_capture_on_commit_callbacks
):
    first = asked()
    held = claim(first.pk)
    second = asked()

    assert claim(second.pk) is None
    with django_capture_on_commit_callbacks(execute=True):
        finish(held, {})

    assert broker.published == [second.pk]
    assert claim(second.pk) is not None


def test_newer_work_takes_over_from_a_lost_worker_and_keeps_its_causes(asked, clock):
    first, second = asked(arguments={"lot": 1}), asked(arguments={"lot": 2})
    lost = claim(second.pk)
    third = asked(arguments={"lot": 3})
    clock.wind(LEASE)

    held = claim(third.pk)

    assert held.causes == ({"lot": 1}, {"lot": 2}, {"lot": 3})
    assert state_of(first) == state_of(second) == JobState.JOINED
    assert first.joined_to_id == second.joined_to_id == third.pk
    with pytest.raises(Lost):
        finish(lost, {})


def test_a_cancelled_job_learns_of_it_at_its_next_word(asked, planner):
    job = asked()
    held = claim(job.pk)
    cancel_job(by=planner, job=job)

    with pytest.raises(Cancelled):
        report(held, 1, 2)
    with pytest.raises(Cancelled):
        finish(held, {})
    stop(held)
    assert state_of(job) == JobState.CANCELLED


def test_a_failed_attempt_is_tried_again_after_longer_and_longer_waits(asked, clock):
    job = asked()
    waits = []
    for _ in range(2):
        fail(claim(job.pk), "The kettle boiled over.")
        job.refresh_from_db()
        waits.append((job.not_before - clock.now).total_seconds())
        assert claim(job.pk) is None
        clock.wind(waits[-1])
    fail(claim(job.pk), "The kettle boiled over.")

    assert waits == [2, 8]
    assert (state_of(job), job.error) == (JobState.FAILED, "The kettle boiled over.")


def test_a_lost_worker_cannot_fail_the_job_of_another(asked, clock):
    job = asked()
    lost = claim(job.pk)
    clock.wind(LEASE)
    claim(job.pk)

    fail(lost, "Too late.")

    assert (state_of(job), job.error) == (JobState.RUNNING, "")
