"""Background work is watched, stopped and tried again from its page."""

from __future__ import annotations

import uuid
from typing import Any

import pytest
from django.db import connection
from django.test import Client
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from boxwort.accounts.models import User
from boxwort.jobs.models import Job, JobState
from tests.boxwort.web.conftest import HTMX


def a_job(by: User, state: JobState, **more: Any) -> Job:
    return Job.objects.create(name="planning.rebalance", key="lot 4", by=by, state=state, **more)


def text_of(browser: Client, name: str, *args: int, **headers: str) -> str:
    answer = browser.get(reverse(name, args=args), headers=headers)
    assert answer.status_code == 200
    return answer.content.decode()


def test_a_running_job_shows_how_far_it_is_and_asks_again(browser: Client, planner: User) -> None:
    job = a_job(planner, JobState.RUNNING, total=10, progress=4, stage="Weighing")
    text = text_of(browser, "job-progress", job.pk)
    assert 'max="10" value="4"' in text
    assert "Weighing" in text
    assert f'hx-get="{reverse("job-progress", args=[job.pk])}"' in text


@pytest.mark.parametrize("state", ["done", "failed", "cancelled", "joined"])
def test_a_job_that_has_ended_asks_no_more(browser: Client, planner: User, state: str) -> None:
    job = a_job(planner, JobState(state))
    assert "hx-get" not in text_of(browser, "job-detail", job.pk)
    assert "hx-get" not in text_of(browser, "job-list")


def test_a_failed_job_says_why_and_offers_another_try(browser: Client, planner: User) -> None:
    job = a_job(planner, JobState.FAILED, error="The broker <b>went</b> away.")
    text = text_of(browser, "job-detail", job.pk)
    assert "The broker &lt;b&gt;went&lt;/b&gt; away." in text
    assert reverse("job-retry", args=[job.pk]) in text


def test_the_list_refreshes_only_its_rows(browser: Client, planner: User) -> None:
    a_job(planner, JobState.QUEUED)
    assert "<nav" not in text_of(browser, "job-list", **HTMX)
    assert "<nav" in text_of(browser, "job-list")


@pytest.mark.parametrize(
    ("act", "before", "after"),
    [
        ("job-cancel", JobState.QUEUED, JobState.CANCELLED),
        ("job-retry", JobState.FAILED, JobState.QUEUED),
    ],
)
def test_a_button_pressed_twice_acts_once(
    browser: Client, planner: User, act: str, before: JobState, after: JobState
) -> None:
    job = a_job(planner, before)
    form = {"request_key": str(uuid.uuid4())}
    for _ in range(2):
        answer = browser.post(reverse(act, args=[job.pk]), form)
        assert answer.headers["Location"] == reverse("job-detail", args=[job.pk])
    job.refresh_from_db()
    assert job.state == after


def test_a_job_that_is_done_cannot_be_cancelled(browser: Client, planner: User) -> None:
    job = a_job(planner, JobState.DONE)
    answer = browser.post(reverse("job-cancel", args=[job.pk]), {"request_key": str(uuid.uuid4())})
    assert answer.status_code == 422
    assert "Job already ended" in answer.content.decode()


def test_a_program_reads_a_job(browser: Client, planner: User) -> None:
    job = a_job(planner, JobState.RUNNING, total=10, progress=4)
    listed = browser.get(reverse("api-job-list")).json()
    one = browser.get(reverse("api-job-detail", args=[job.pk])).json()
    assert listed["results"] == [one]
    assert (one["state"], one["progress"], one["total"], one["by"]) == ("running", 4, 10, "Ada")


def test_the_list_takes_as_many_statements_for_many_jobs_as_for_one(
    browser: Client, planner: User
) -> None:
    def statements() -> int:
        with CaptureQueriesContext(connection) as asked:
            text_of(browser, "job-list")
        return len(asked)

    a_job(planner, JobState.QUEUED)
    for_one = statements()
    for _ in range(30):
        a_job(planner, JobState.QUEUED)
    assert statements() == for_one
