from __future__ import annotations

import pytest

from boxwort.accounts.models import History
from boxwort.accounts.services import write_history
from boxwort.errors import Refusal
from boxwort.jobs.body import Work, Write, run_job
from boxwort.jobs.claims import claim
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.services import cancel_job

pytestmark = pytest.mark.django_db(transaction=True)


def noting(work: Work) -> Write:
    """Write one line of history for each thing that asked."""
    return lambda: note(work)


def note(work: Work) -> dict[str, int]:
    for _ in work.causes:
        write_history(by=work.by, thing=work.by, action="steeped")
    return {"steeped": len(work.causes)}


def ended(job: Job) -> tuple[str, int]:
    """Return the job's state and how many effects the database holds."""
    job.refresh_from_db()
    return job.state, History.objects.filter(action="steeped").count()


def test_the_work_and_its_end_are_written_together(asked, planner):
    job = asked()

    run_job(job.pk, noting)
    run_job(job.pk, noting)  # the same number delivered twice

    assert ended(job) == (JobState.DONE, 1)
    assert job.result == {"steeped": 1}
    assert History.objects.get().by == planner


def test_joined_jobs_are_answered_by_one_piece_of_work(asked):
    first, second = asked(), asked()

    run_job(second.pk, noting)
    run_job(first.pk, noting)

    assert ended(first) == (JobState.JOINED, 2)
    assert ended(second) == (JobState.DONE, 2)


def test_a_worker_that_lost_its_claim_does_not_begin_to_write(asked, clock, caplog):
    job = asked()
    begun = []

    def overtaken(work: Work) -> Write:
        clock.wind(30)
        assert claim(job.pk) is not None
        return lambda: begun.append(work) or note(work)

    run_job(job.pk, overtaken)

    assert ended(job) == (JobState.RUNNING, 0)
    assert begun == []
    assert "went to another worker" in caplog.text


def test_a_job_cancelled_while_it_computes_writes_nothing(asked, planner):
    job = asked()

    def cancelled_meanwhile(work: Work) -> Write:
        cancel_job(by=planner, job=job)
        return noting(work)

    run_job(job.pk, cancelled_meanwhile)

    assert ended(job) == (JobState.CANCELLED, 0)


def test_a_job_cancelled_before_a_report_computes_no_further(asked, planner):
    job = asked()
    reached = []

    def reporting(work: Work) -> Write:
        cancel_job(by=planner, job=job)
        work.report(1, 2, "weighing")
        reached.append(work)
        return noting(work)

    run_job(job.pk, reporting)

    assert ended(job) == (JobState.CANCELLED, 0)
    assert reached == []


def test_a_refusal_ends_the_job_with_its_words(asked):
    job = asked()

    def refusing(work: Work) -> Write:
        def write() -> dict[str, int]:
            note(work)
            raise Refusal("lot-on-hold", "Lot H-7 is on hold.", "Release it, then try again.")

        return write

    run_job(job.pk, refusing)

    assert ended(job) == (JobState.FAILED, 0)
    assert job.error == "Lot H-7 is on hold. Release it, then try again."
    assert job.attempts == 1


def test_a_fault_is_logged_and_tried_again_and_shows_no_traceback(asked, clock, caplog):
    job = asked()

    def faulty(work: Work) -> Write:
        if job.state == JobState.QUEUED and job.attempts == 2:
            return noting(work)
        raise ZeroDivisionError

    for _ in range(3):
        run_job(job.pk, faulty)
        job.refresh_from_db()
        clock.wind(60)

    assert ended(job) == (JobState.DONE, 1)
    assert [record.exc_info[0] for record in caplog.records] == [ZeroDivisionError] * 2
    assert job.error == ""


def test_a_fault_in_the_write_leaves_nothing_of_it(asked):
    job = asked()

    def half_written(work: Work) -> Write:
        def write() -> dict[str, int]:
            note(work)
            raise ZeroDivisionError

        return write

    run_job(job.pk, half_written)

    assert ended(job) == (JobState.QUEUED, 0)
    assert "Nothing was changed" in job.error
    assert "ZeroDivisionError" not in job.error


def stopping(work: Work) -> Write:
    """A search that is cancelled while it goes on, and ends early with what it has."""
    assert not work.stopped()
    cancel_job(by=work.by, job=Job.objects.get(pk=work.job_id))
    assert work.stopped()
    return lambda: note(work)


def test_a_body_that_keeps_what_it_has_writes_it_when_it_is_cancelled(asked):
    job = asked()

    run_job(job.pk, stopping, keeps=True)
    run_job(job.pk, stopping, keeps=True)  # delivered again

    assert ended(job) == (JobState.CANCELLED, 1)
    assert job.result == {"steeped": 1}


def test_another_body_writes_nothing_when_it_is_cancelled(asked):
    job = asked()

    run_job(job.pk, stopping)

    assert ended(job) == (JobState.CANCELLED, 0)


def test_what_a_cancelled_body_keeps_is_undone_when_another_worker_has_the_job(asked):
    job = asked()

    def overtaken(work: Work) -> Write:
        written = stopping(work)

        def write() -> dict[str, int]:
            result = written()
            Job.objects.filter(pk=job.pk).update(token="another")
            return dict(result)

        return write

    run_job(job.pk, overtaken, keeps=True)

    assert ended(job)[1] == 0
