"""Sites of their own for scenes: one machine with SQLite, and grown with PostgreSQL and Redis."""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.sites import TREE, environment

collect_ignore = ["bench"]  # played in processes of their own, with settings of their own

Play = Callable[[str, str], dict[str, Any]]


@pytest.fixture
def one_machine(data_folder: Path) -> Play:
    return playing(data_folder)


@pytest.fixture
def grown(tmp_path: Path, migrated_postgres_url: str, redis_url: str) -> Play:
    return playing(tmp_path, BOXWORT_DATABASE=migrated_postgres_url, BOXWORT_REDIS=redis_url)


def playing(data: Path, **changes: str) -> Play:
    """Return a function that plays a scene on a site of its own and tells what it said last."""
    known = environment(
        data,
        DJANGO_SETTINGS_MODULE="tests.services.settings",
        BOXWORT_JOB_LEASE_SECONDS="2",
        BOXWORT_JOB_SWEEP_SECONDS="1",
        **changes,
    )

    def play(module: str, scene: str) -> dict[str, Any]:
        played = subprocess.run(
            [sys.executable, "-m", "tests.services.bench.play", module, scene],
            cwd=TREE,
            env=known,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert played.stdout, played.stderr
        return json.loads(played.stdout.splitlines()[-1])

    return play
