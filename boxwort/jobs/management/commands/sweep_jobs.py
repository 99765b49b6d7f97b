"""Publish the jobs that wait or whose worker was lost: the scheduler of a grown site."""

from __future__ import annotations

import signal
from argparse import ArgumentParser, ArgumentTypeError
from threading import Event
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand

from boxwort.jobs.sweeping import keep_sweeping, sweep

LONGEST = 3600.0
"""Seconds between sweeps; a lost job should not wait longer."""


class Command(BaseCommand):
    help = (
        "Publishes background jobs that wait for a worker or whose worker was lost. "
        "“serve” does this by itself; a site with workers of its own keeps one of these running."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--every",
            type=_seconds,
            metavar="SECONDS",
            help="go on, sweeping every so many seconds, until stopped (without it: once)",
        )

    def handle(self, *_: Any, every: float | None, **__: Any) -> None:
        if every is None:
            published = sweep()
            self.stdout.write(f"Published {published} job{'' if published == 1 else 's'}.")
            return
        stopping = Event()

        def stop(_number: int, _frame: FrameType | None) -> None:
            stopping.set()

        signal.signal(signal.SIGTERM, stop)
        signal.signal(signal.SIGINT, stop)
        keep_sweeping(every, stopping)


def _seconds(written: str) -> float:
    """Read how long to rest between sweeps (an argparse type)."""
    try:
        seconds = float(written)
    except ValueError:
        seconds = 0.0
    if not 0 < seconds <= LONGEST:
        msg = f"{written!r} is not a number of seconds above 0 and up to {LONGEST:.0f}"
        raise ArgumentTypeError(msg)
    return seconds
