"""The one command of one machine: it serves, refuses to run twice, and leaves nothing behind."""

from __future__ import annotations

import json
import signal
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from tests.sites import TREE, environment

PATIENCE_SECONDS = 60.0
Serve = Callable[..., subprocess.Popen[str]]


@pytest.fixture
def port() -> int:
    with closing(socket.socket()) as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@pytest.fixture
def serve(data_folder: Path, port: int) -> Iterator[Serve]:
    """Start ``serve`` on a data folder of its own; what still runs at the end is killed."""
    started = []

    def serve(**changes: str) -> subprocess.Popen[str]:
        process = subprocess.Popen(
            [sys.executable, "manage.py", "serve", f"--port={port}"],
            cwd=TREE,
            env=environment(data_folder, **changes),
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        started.append(process)
        return process

    yield serve
    for process in started:
        process.kill()
        process.communicate(timeout=PATIENCE_SECONDS)


def ready(port: int) -> dict[str, str]:
    """Return what the readiness page answers, once somebody listens."""
    end = time.monotonic() + PATIENCE_SECONDS
    while True:
        try:
            with urllib.request.urlopen(f"http://127.0.0.1:{port}/health/ready") as page:
                return json.load(page)
        except OSError:
            if time.monotonic() > end:
                raise
            time.sleep(0.05)


def test_an_empty_folder_is_served_and_left_in_order(serve: Serve, port: int, tmp_path: Path):
    process = serve(BOXWORT_DATA=str(tmp_path / "empty"))
    assert ready(port)["status"] == "ok"

    process.send_signal(signal.SIGTERM)
    said, complained = process.communicate(timeout=PATIENCE_SECONDS)

    # Both were read to their end, so the worker, which shares them, is gone too.
    assert process.returncode == 0, complained
    assert f"http://127.0.0.1:{port}/" in said
    assert said.endswith("Stopped.\n")


def test_a_folder_is_not_served_twice_at_once(serve: Serve, port: int):
    first = serve()
    ready(port)

    second = serve()
    _, complained = second.communicate(timeout=PATIENCE_SECONDS)

    assert second.returncode == 1
    assert complained.startswith(
        f"CommandError: Another process (number {first.pid}) is already serving this data folder."
    )


def test_a_killed_server_does_not_block_the_next(serve: Serve, port: int):
    killed = serve()
    ready(port)
    killed.kill()
    killed.communicate(timeout=PATIENCE_SECONDS)

    serve()

    assert ready(port)["status"] == "ok"


def test_a_port_in_use_is_named(serve: Serve, port: int):
    with closing(socket.socket()) as taken:
        taken.bind(("127.0.0.1", port))
        taken.listen()
        process = serve()
        _, complained = process.communicate(timeout=PATIENCE_SECONDS)

    assert process.returncode == 1
    assert f"Cannot listen on 127.0.0.1:{port}" in complained


@pytest.mark.services
def test_a_shared_database_is_not_migrated_unasked(serve: Serve, postgres_url: str):
    process = serve(BOXWORT_DATABASE=postgres_url)
    _, complained = process.communicate(timeout=PATIENCE_SECONDS)

    assert process.returncode == 1
    assert "Run “python manage.py migrate”" in complained
