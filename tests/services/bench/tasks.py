"""Work that waits at a gate, so that a test can kill the worker in the middle of it."""

from __future__ import annotations

import time
import uuid
from pathlib import Path

from boxwort.accounts.models import History
from boxwort.accounts.services import write_history
from boxwort.celery import app
from boxwort.jobs.body import Work, Write, run_job
from boxwort.jobs.kinds import JobKind

MARK = JobKind(name="bench.mark", title="Leave a mark")
EFFECT = "bench mark"


@app.task(name=MARK.name)
def mark(job_id: int) -> None:
    run_job(job_id, mark_body)


def mark_body(work: Work) -> Write:
    """Say that the work began, wait while the gate is shut, then leave one mark."""
    folder = Path(work.arguments["folder"])
    (folder / f"begun-{uuid.uuid4().hex}").touch()
    while (folder / "gate-shut").exists():
        time.sleep(0.01)

    def write() -> dict[str, int]:
        write_history(by=work.by, thing=work.by, action=EFFECT)
        return {"causes": len(work.causes)}

    return write


def effects() -> int:
    return History.objects.filter(action=EFFECT).count()
