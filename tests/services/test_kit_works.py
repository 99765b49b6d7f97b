"""A kit works under strain: runs that want the same lot, and a worker killed re-balancing."""

from __future__ import annotations

import pytest

from tests.services.conftest import Play

ONE_WINS = {"outcomes": [["reserved", "run-short"]], "reserved": 0, "differences": []}
ONCE = {"caught": True, "attempts": 2, "proposals": 20, "batches": 20}


def test_of_two_runs_that_want_the_last_of_a_lot_one_gets_it(one_machine: Play):
    assert one_machine("kit_works", "last_of_a_lot") == ONE_WINS


def test_a_worker_killed_while_re_balancing_leaves_each_proposal_once(one_machine: Play):
    assert one_machine("kit_works", "killed_in_rebalance") == ONCE


@pytest.mark.services
def test_on_postgresql_one_of_two_runs_gets_the_last_and_the_other_a_shortage(grown: Play):
    assert grown("kit_works", "last_of_a_lot") == ONE_WINS


@pytest.mark.services
def test_a_grown_site_proposes_once_though_its_worker_was_killed(grown: Play):
    assert grown("kit_works", "killed_in_rebalance") == ONCE
