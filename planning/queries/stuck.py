"""Batches that re-balancing could not help: no proposal came, and somebody should know why."""

from __future__ import annotations

from collections.abc import Iterable

from boxwort.jobs.models import JobState
from boxwort.jobs.queries import job_rows

NEWEST_JOBS = 200


def stuck_batches(codes: Iterable[str]) -> dict[str, str]:
    """Return, by batch code, what the newest re-balancing of its kit said against a proposal."""
    waiting = set(codes)
    seen: set[tuple[str, str]] = set()
    stuck: dict[str, str] = {}
    for job in job_rows(NEWEST_JOBS):
        if job.state != JobState.DONE or (job.name, job.key) in seen:
            continue
        seen.add((job.name, job.key))
        for note in job.result.get("notes", ()):
            code = str(note).removeprefix("Batch ").split(":")[0]
            if code in waiting:
                stuck[code] = str(note)
    return stuck
