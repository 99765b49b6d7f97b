"""Pages of a list do not overlap and do not grow without end."""

from __future__ import annotations

import pytest
from django.test import Client, RequestFactory

from boxwort.accounts.models import User
from boxwort.jobs.models import Job
from boxwort.web.paging import LONGEST_PAGE, ROWS_ON_A_PAGE, page_of, settled


def test_rows_that_tie_keep_one_order_over_all_pages(planner: User) -> None:
    for _ in range(6):
        Job.objects.create(name="same", key="same", by=planner)
    rows = settled(Job.objects.order_by("name"))
    assert [row.pk for row in rows] == sorted(row.pk for row in rows)


def test_rows_without_an_order_are_put_in_one() -> None:
    assert settled(User.objects.order_by()).ordered


@pytest.mark.parametrize(("asked", "number"), [("2", 2), ("0", 3), ("99", 3), ("x", 1), ("", 1)])
def test_a_page_that_is_not_there_becomes_one_that_is(
    rf: RequestFactory, asked: str, number: int
) -> None:
    rows = list(range(2 * ROWS_ON_A_PAGE + 1))
    assert page_of(rf.get("/", {"page": asked}), rows).number == number


def test_a_caller_cannot_ask_for_everything_at_once(browser: Client, planner: User) -> None:
    Job.objects.bulk_create(
        Job(name="n", key=str(number), by=planner) for number in range(LONGEST_PAGE + 5)
    )
    answer = browser.get("/api/v1/jobs/", {"page_size": 100_000}).json()
    assert answer["count"] == LONGEST_PAGE + 5
    assert len(answer["results"]) == LONGEST_PAGE
