"""Scenes with a true worker process and jobs that leave a mark."""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from threading import Barrier

from django.conf import settings
from django.db import connection

from boxwort.accounts.queries import house_user
from boxwort.jobs.claims import claim, finish
from boxwort.jobs.models import Job, JobState
from boxwort.jobs.services import ask
from boxwort.jobs.supervisor import running_worker
from tests.services.bench.tasks import MARK, effects

PATIENCE_SECONDS = 60.0


def killed_worker() -> dict[str, object]:
    """Kill the worker in the middle of a job; change nothing else, and see what happens."""
    with running_worker() as worker:
        gate = folder() / "gate-shut"
        gate.touch()
        job = asked()
        until(lambda: len(begun()) == 1)
        first = worker.pid
        os.kill(first, signal.SIGKILL)
        gate.unlink()
        until(lambda: Job.objects.get(pk=job.pk).state == JobState.DONE)
        second = worker.pid
    job.refresh_from_db()
    return {
        "attempts": job.attempts,
        "begun": len(begun()),
        "effects": effects(),
        "other_worker": first != second,
    }


def quick_jobs() -> dict[str, object]:
    """Ask for twenty jobs on things of their own, and one twice on the same thing."""
    with running_worker():
        for number in range(20):
            asked(key=str(number))
        until(lambda: Job.objects.filter(state=JobState.DONE).count() == 20)
    return {"effects": effects(), "attempts": max(Job.objects.values_list("attempts", flat=True))}


def rival_claims() -> dict[str, object]:
    """Let eight workers reach at the same moment for four jobs on one thing, twenty times."""
    rivals = 8
    start = Barrier(rivals)

    def reach(job_id: int):
        start.wait(PATIENCE_SECONDS)
        try:
            return claim(job_id)
        finally:
            connection.close()

    winners, causes = [], []
    with ThreadPoolExecutor(rivals) as pool:
        for _ in range(20):
            jobs = [asked().pk for _ in range(4)]
            held = [one for one in pool.map(reach, [*jobs, *reversed(jobs)]) if one]
            winners.append(len(held))
            causes.append(len(held[0].causes))
            finish(held[0], {})
    left = Job.objects.exclude(state__in=[JobState.DONE, JobState.JOINED]).count()
    return {"winners": sorted(set(winners)), "causes": sorted(set(causes)), "left": left}


def orphaned_worker() -> dict[str, object]:
    """Die by SIGKILL with a worker running: nothing is left that could tidy up."""
    with running_worker() as worker:
        asked()
        until(lambda: len(begun()) == 1)
        print(json.dumps({"worker": worker.pid}), flush=True)  # noqa: T201
        os.kill(os.getpid(), signal.SIGKILL)
    raise AssertionError


def folder() -> Path:
    return Path(settings.DATA_DIR)


def begun() -> list[Path]:
    return list(folder().glob("begun-*"))


def asked(key: str = "bench"):
    return ask(kind=MARK, key=key, arguments={"folder": str(folder())}, by=house_user())


def until(done: Callable[[], bool]) -> None:
    """Wait for what another process does; a scene that never gets there fails."""
    end = time.monotonic() + PATIENCE_SECONDS
    while not done():
        if time.monotonic() > end:
            raise TimeoutError
        time.sleep(0.02)
