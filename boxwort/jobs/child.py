"""The worker as a child process: it ends when the process that started it wishes, or is gone.

The parent holds the other end of this process's standard input. It closes that end to stop the
worker; however the parent itself ends, even by SIGKILL, the operating system closes it too. The
worker then finishes the job it is at, and stops.
"""

from __future__ import annotations

import os
import sys
import warnings
from threading import Thread

from celery.platforms import EX_OK
from celery.worker import state

from boxwort.celery import app

_OPTIONS = ["--pool=solo", "--without-gossip", "--without-mingle", "--without-heartbeat"]


def main() -> None:
    """Work until the parent closes our standard input."""
    # Celery warns the superuser of pickled messages; this application accepts JSON only.
    warnings.filterwarnings("ignore", module="celery.platforms")
    Thread(target=_stop_with_parent, daemon=True).start()
    app.worker_main(["--quiet", "worker", "--loglevel=WARNING", *_OPTIONS])


def _stop_with_parent() -> None:
    while os.read(sys.stdin.fileno(), 1):
        pass
    state.should_stop = EX_OK  # type: ignore[assignment]  # the stubs know its first value only


if __name__ == "__main__":
    main()
