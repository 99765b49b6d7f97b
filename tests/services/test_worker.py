"""True worker processes: on one machine, and against PostgreSQL and Redis."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

TREE = Path(__file__).parents[2]
Play = Callable[[str], dict[str, Any]]


@pytest.fixture
def one_machine(tmp_path: Path) -> Play:
    return playing(tmp_path)


@pytest.fixture
def grown(tmp_path: Path, postgres_url: str, redis_url: str) -> Play:
    return playing(tmp_path, BOXWORT_DATABASE=postgres_url, BOXWORT_REDIS=redis_url)


def playing(data: Path, **changes: str) -> Play:
    """Return a function that plays a scene on a site of its own and tells what it said last."""
    environment = {
        **{name: value for name, value in os.environ.items() if not name.startswith("BOXWORT_")},
        "DJANGO_SETTINGS_MODULE": "tests.services.settings",
        "BOXWORT_DATA": str(data),
        "BOXWORT_JOB_LEASE_SECONDS": "2",
        "BOXWORT_JOB_SWEEP_SECONDS": "1",
        **changes,
    }

    def play(scene: str) -> dict[str, Any]:
        played = subprocess.run(
            [sys.executable, "-m", "tests.services.bench.scenes", scene],
            cwd=TREE,
            env=environment,
            capture_output=True,
            text=True,
            timeout=120,
            check=False,
        )
        assert played.stdout, played.stderr
        return json.loads(played.stdout.splitlines()[-1])

    return play


KILLED = {"attempts": 2, "begun": 2, "effects": 1, "other_worker": True}
QUICK = {"effects": 20, "attempts": 1}
RIVALS = {"winners": [1], "causes": [4], "left": 0}


def test_a_job_whose_worker_is_killed_has_its_effect_once(one_machine: Play):
    assert one_machine("killed_worker") == KILLED


def test_each_of_many_jobs_is_done_once(one_machine: Play):
    assert one_machine("quick_jobs") == QUICK


def test_of_rivals_for_one_thing_one_gets_it_with_all_that_waits(one_machine: Play):
    assert one_machine("rival_claims") == RIVALS


def test_a_worker_ends_when_its_parent_is_killed(one_machine: Play):
    # The worker shares the scene's output: reading it to the end means that both are gone.
    assert one_machine("orphaned_worker")["worker"] > 0


@pytest.mark.services
def test_a_grown_site_loses_no_job_with_its_worker(grown: Play):
    assert grown("killed_worker") == KILLED


@pytest.mark.services
def test_a_grown_site_does_each_of_many_jobs_once(grown: Play):
    assert grown("quick_jobs") == QUICK


@pytest.mark.services
def test_rivals_on_postgresql_do_not_block_each_other(grown: Play):
    assert grown("rival_claims") == RIVALS
