from __future__ import annotations

import pytest

from boxwort.jobs.claims import claim, fail, finish, report
from boxwort.jobs.queries import job_row, job_rows
from boxwort.jobs.services import cancel_job


def test_a_job_reads_as_a_person_would_say_it(asked):
    job = asked()
    report(claim(job.pk), 1, 4, "milling")

    row = job_row(job.pk)

    assert (row.title, row.by, row.state_words) == ("Steep the grain", "Ada Moor", "Running")
    assert (row.progress_share, row.stage) == (0.25, "milling")
    assert row.may_be_cancelled
    assert not row.may_be_retried


def test_what_came_of_a_job_is_named_in_words(asked):
    job = asked()
    finish(claim(job.pk), {"batches_before": 30, "lots": ["A", "B"], "table": {"A": 1}})

    assert job_row(job.pk).facts == {"batches before": 30, "lots": 2}


def test_a_job_of_a_kind_nobody_declares_is_called_by_its_name(asked):
    job = asked()
    type(job).objects.update(name="tests.forgotten")

    assert job_row(job.pk).title == "tests.forgotten"


def test_there_is_no_row_without_a_job(db):
    assert job_row(404) is None


def test_the_words_follow_the_job(asked, planner):
    waiting, cancelling, failed, done = (asked(key=str(number)) for number in range(4))
    claim(cancelling.pk)
    cancel_job(by=planner, job=cancelling)
    fail(claim(failed.pk), "The kettle leaks.")
    finish(claim(done.pk), {})

    words = {row.id: (row.state_words, row.progress_share) for row in job_rows()}

    assert words == {
        waiting.pk: ("Waiting", None),
        cancelling.pk: ("Being cancelled", None),
        failed.pk: ("Waiting to be tried again", None),
        done.pk: ("Done", 1.0),
    }
    assert [row.id for row in job_rows(2)] == [done.pk, failed.pk]


@pytest.mark.parametrize("jobs", [1, 30])
def test_the_list_takes_one_statement(asked, jobs, django_assert_num_queries):
    for number in range(jobs):
        asked(key=str(number))

    with django_assert_num_queries(1):
        assert len(job_rows()) == jobs
