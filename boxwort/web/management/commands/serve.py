"""Serve the site on one machine: web server, worker and sweeper, started and stopped together."""

from __future__ import annotations

import signal
from argparse import ArgumentParser
from types import FrameType
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError
from django.core.wsgi import get_wsgi_application
from waitress.server import create_server

from boxwort.errors import Refusal
from boxwort.jobs.supervisor import running_worker
from boxwort.lock import only_one
from boxwort.terminal import bring_up_to_date


class Command(BaseCommand):
    help = "Serves the site on this machine, with a worker for background jobs. Ctrl-C stops both."

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--host", default="127.0.0.1", help="address to listen on")
        parser.add_argument("--port", type=int, default=8000, help="port to listen on")
        parser.add_argument("--threads", type=int, default=4, help="pages served at one time")

    def handle(self, *_: Any, host: str, port: int, threads: int, **__: Any) -> None:
        try:
            with only_one(settings.DATA_DIR / "serve.lock", "serving this data folder"):
                bring_up_to_date()
                self.serve(host, port, threads)
        except Refusal as refusal:
            raise CommandError(str(refusal)) from None

    def serve(self, host: str, port: int, threads: int) -> None:
        try:
            server = create_server(get_wsgi_application(), host=host, port=port, threads=threads)
        except OSError as problem:
            msg = f"Cannot listen on {host}:{port}: {problem.strerror}. Name another with --port."
            raise CommandError(msg) from None
        signal.signal(signal.SIGTERM, _interrupt)
        with running_worker():
            self.stdout.write(f"Boxwort serves on http://{host}:{port}/ (Ctrl-C stops it).")
            server.run()
        self.stdout.write("Stopped.")


def _interrupt(_number: int, _frame: FrameType | None) -> None:
    raise KeyboardInterrupt
