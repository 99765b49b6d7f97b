"""True worker processes: on one machine, and against PostgreSQL and Redis."""

from __future__ import annotations

import pytest

from tests.services.conftest import Play

KILLED = {"attempts": 2, "begun": 2, "effects": 1, "other_worker": True}
QUICK = {"effects": 20, "attempts": 1}
RIVALS = {"winners": [1], "causes": [4], "left": 0}


def test_a_job_whose_worker_is_killed_has_its_effect_once(one_machine: Play):
    assert one_machine("scenes", "killed_worker") == KILLED


def test_each_of_many_jobs_is_done_once(one_machine: Play):
    assert one_machine("scenes", "quick_jobs") == QUICK


def test_of_rivals_for_one_thing_one_gets_it_with_all_that_waits(one_machine: Play):
    assert one_machine("scenes", "rival_claims") == RIVALS


def test_a_worker_ends_when_its_parent_is_killed(one_machine: Play):
    # The worker shares the scene's output: reading it to the end means that both are gone.
    assert one_machine("scenes", "orphaned_worker")["worker"] > 0


@pytest.mark.services
def test_a_grown_site_loses_no_job_with_its_worker(grown: Play):
    assert grown("scenes", "killed_worker") == KILLED


@pytest.mark.services
def test_a_grown_site_does_each_of_many_jobs_once(grown: Play):
    assert grown("scenes", "quick_jobs") == QUICK


@pytest.mark.services
def test_rivals_on_postgresql_do_not_block_each_other(grown: Play):
    assert grown("scenes", "rival_claims") == RIVALS
