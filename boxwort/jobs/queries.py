"""Readings of the jobs room."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from boxwort.jobs.kinds import page_of, title_of
from boxwort.jobs.models import Job, JobState

_LIVE = {JobState.QUEUED, JobState.RUNNING}
_RETRIED = {JobState.FAILED, JobState.CANCELLED}


@dataclass(frozen=True, kw_only=True)
class JobRow:
    """A job as a person reads it.

    Attributes
    ----------
    state: the state's code; ``state_words`` is what a page shows.
    progress_share: how much is done, 0 to 1; nothing while the work has not said.
    joined_to: the number of the job that does this one's work too.
    page, page_title: where what it made is read, once it has ended; "": on no page of its own.
    """

    id: int
    name: str
    title: str
    key: str
    by: str
    state: str
    state_words: str
    asked_at: datetime
    not_before: datetime | None
    started_at: datetime | None
    ended_at: datetime | None
    attempts: int
    most_attempts: int
    progress: int
    total: int
    progress_share: float | None
    stage: str
    joined_to: int | None
    arguments: Mapping[str, Any]
    result: Mapping[str, Any]
    error: str
    may_be_cancelled: bool
    may_be_retried: bool
    page: str
    page_title: str

    @property
    def facts(self) -> Mapping[str, Any]:
        """What of the result fits a line: lists by their length; tables have pages of their own."""
        return {
            name.replace("_", " "): len(value) if isinstance(value, list) else value
            for name, value in self.result.items()
            if not isinstance(value, dict)
        }


def job_rows(most: int = 100) -> list[JobRow]:
    """Return the newest jobs, newest first (one statement)."""
    return [_row(job) for job in Job.objects.select_related("by").order_by("-id")[:most]]


def job_row(job_id: int) -> JobRow | None:
    """Return one job, or nothing where there is none of that number."""
    job = Job.objects.select_related("by").filter(pk=job_id).first()
    return _row(job) if job else None


def _row(job: Job) -> JobRow:
    state = JobState(job.state)
    page, page_title = page_of(job.name) if job.ended_at else ("", "")
    return JobRow(
        id=job.pk,
        name=job.name,
        title=title_of(job.name),
        key=job.key,
        by=job.by.named,
        state=state.value,
        state_words=_words(job, state),
        asked_at=job.asked_at,
        not_before=job.not_before,
        started_at=job.started_at,
        ended_at=job.ended_at,
        attempts=job.attempts,
        most_attempts=job.most_attempts,
        progress=job.progress,
        total=job.total,
        progress_share=_share(job, state),
        stage=job.stage,
        joined_to=job.joined_to_id,
        arguments=job.arguments,
        result=job.result,
        error=job.error,
        may_be_cancelled=state in _LIVE and not job.cancel_asked,
        may_be_retried=state in _RETRIED,
        page=page,
        page_title=page_title,
    )


def _words(job: Job, state: JobState) -> str:
    if state == JobState.RUNNING and job.cancel_asked:
        return "Being cancelled"
    if state == JobState.QUEUED and job.attempts:
        return "Waiting to be tried again"
    return str(state.label)


def _share(job: Job, state: JobState) -> float | None:
    if state == JobState.DONE:
        return 1.0
    return min(job.progress / job.total, 1.0) if job.total else None
