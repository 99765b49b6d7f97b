"""A worker and a sweeper that live as long as the block that needs them."""

from __future__ import annotations

import logging
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Event, Lock, Thread

from django.conf import settings

from boxwort.jobs.sweeping import keep_sweeping

_LOG = logging.getLogger(__name__)
_SHORTEST_PAUSE_SECONDS = 0.5
_LONGEST_PAUSE_SECONDS = 30.0
_SETTLED_SECONDS = 60.0
_GRACE_SECONDS = 10.0


class Worker:
    """A worker process that is started again when it dies, after a pause that grows."""

    def __init__(self) -> None:
        self._stopping = Event()
        self._starting = Lock()  # so that none is started while the last one is being stopped
        self._process = _started()
        self._watch = Thread(target=self._keep, name="worker-watch", daemon=True)
        self._watch.start()

    @property
    def pid(self) -> int:
        """The number of the process that works now."""
        return self._process.pid

    def stop(self) -> None:
        """Let the worker end its job and stop; what it cannot end in time is taken up later."""
        with self._starting:
            self._stopping.set()
            _let_go(self._process)
        self._watch.join(_GRACE_SECONDS)
        self._process.kill()  # does nothing to a process that has ended
        self._watch.join()

    def _keep(self) -> None:
        pause = _SHORTEST_PAUSE_SECONDS
        while True:
            began = time.monotonic()
            self._process.wait()
            _let_go(self._process)
            if time.monotonic() - began > _SETTLED_SECONDS:
                pause = _SHORTEST_PAUSE_SECONDS
            if self._stopping.wait(pause):
                return
            pause = min(2 * pause, _LONGEST_PAUSE_SECONDS)
            with self._starting:
                if self._stopping.is_set():
                    return
                _LOG.error("The worker (process %s) died; starting another.", self.pid)
                self._process = _started()


def _started() -> subprocess.Popen[bytes]:
    """Start the worker in a session of its own: Ctrl-C reaches it through its parent only."""
    return subprocess.Popen(
        [sys.executable, "-m", "boxwort.jobs.child"],
        cwd=settings.BASE_DIR,
        stdin=subprocess.PIPE,
        start_new_session=True,
    )


def _let_go(process: subprocess.Popen[bytes]) -> None:
    """Close our end of the worker's standard input, which tells it to stop."""
    if process.stdin:
        process.stdin.close()


@contextmanager
def running_worker() -> Iterator[Worker]:
    """Keep a worker process and a sweeper running while the block runs; stop both after it."""
    stopping = Event()
    sweeper = Thread(
        target=keep_sweeping,
        args=(settings.JOB_SWEEP_SECONDS, stopping),
        name="sweeper",
        daemon=True,
    )
    worker = Worker()
    try:
        sweeper.start()
        yield worker
    finally:
        stopping.set()
        worker.stop()
        sweeper.join()
