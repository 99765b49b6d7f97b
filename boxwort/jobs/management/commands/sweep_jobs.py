"""Publish the jobs that wait or whose worker was lost: the scheduler of a grown site."""

from __future__ import annotations

import signal
from argparse import ArgumentParser
from threading import Event
from types import FrameType
from typing import Any

from django.core.management.base import BaseCommand

from boxwort.jobs.sweeping import keep_sweeping, sweep


class Command(BaseCommand):
    help = (
        "Publishes background jobs that wait for a worker or whose worker was lost. "
        "“serve” does this by itself; a site with workers of its own keeps one of these running."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--every",
            type=float,
            metavar="SECONDS",
            help="go on, sweeping every so many seconds, until stopped (without it: once)",
        )

    def handle(self, *_: Any, every: float | None, **__: Any) -> None:
        if every is None:
            self.stdout.write(f"Published {sweep()} jobs.")
            return
        stopping = Event()

        def stop(_number: int, _frame: FrameType | None) -> None:
            stopping.set()

        signal.signal(signal.SIGTERM, stop)
        signal.signal(signal.SIGINT, stop)
        keep_sweeping(every, stopping)
