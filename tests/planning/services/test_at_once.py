"""Two people at the same run at the same moment, on a database that lets both write."""

from __future__ import annotations

import pytest

from boxwort.errors import Refusal
from inventory.models import Lot
from inventory.queries.verify import stock_differences
from planning.models import Batch, BatchState, Proposal, ProposalState, Run, RunState
from planning.queries.rebalancing import change_of
from planning.queries.verify import batch_check
from planning.services.proposing import accept_proposal, write_proposals
from planning.services.reserving import cancel_run, reserve_run
from tests.at_once import at_once
from tests.planning.make import do_jobs, grams, open_proposals, pack, packing, store

pytestmark = [
    pytest.mark.services,
    pytest.mark.django_db(transaction=True),
    pytest.mark.usefixtures("two_can_write", "today_stands_still"),
    pytest.mark.parametrize("attempt", range(5)),
]


def _books_agree():
    return stock_differences() == [] and batch_check().differences == ()


def _batch():
    return Batch.objects.select_related("run_line__run", "run_line__kit__item").get()


def test_the_last_of_a_lot_goes_to_one_run_and_the_other_hears_what_is_short(attempt):
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), alpha=0.06)
    made.lot(made.goods.bittering, grams(450), alpha=0.08)
    runs = [made.plan(10), made.plan(10)]
    answers = at_once(
        *(lambda run=run: reserve_run(by=made.by, run=run, expected=1) for run in runs)
    )
    (refusal,) = [answer for answer in answers if isinstance(answer, Refusal)]
    assert refusal.code == "run-short"
    assert sorted(Run.objects.values_list("state", flat=True)) == ["planned", "reserved"]
    assert _books_agree()


def test_a_run_is_cancelled_or_its_batch_is_packed_and_never_both(attempt):
    made, run, _ = packing()
    at_once(
        lambda: cancel_run(by=made.by, run=run, expected=run.version),
        lambda: pack(made, _batch()),
    )
    run.refresh_from_db()
    ends = {RunState.CANCELLED: BatchState.CANCELLED, RunState.PACKING: BatchState.PACKED}
    assert Batch.objects.get().state == ends[RunState(run.state)]
    assert _books_agree()


def test_new_weights_come_before_packing_or_not_at_all(attempt):
    made, _, _ = packing()
    made.analysed(Lot.objects.get(code="BITTER-A"), 0.06)
    change = change_of(_batch())
    at_once(
        lambda: write_proposals(by=made.by, changes=[change], cause="a new analysis"),
        lambda: pack(made, _batch()),
    )
    waiting = Proposal.objects.filter(state=ProposalState.OPEN).exists()
    assert waiting == (Batch.objects.get().state == BatchState.RESERVED)
    assert _books_agree()


def test_weights_accepted_beside_a_new_analysis_are_not_the_last_word(attempt):
    made = store()
    made.reserved(10)
    lot = Lot.objects.get(code="BITTER-A")
    made.analysed(lot, 0.07)
    do_jobs()
    (proposal,) = open_proposals()
    at_once(
        lambda: accept_proposal(by=made.by, proposal=proposal),
        lambda: made.analysed(lot, 0.06),
    )
    while do_jobs():
        pass
    (newest,) = open_proposals()
    assert newest.batch_version == Batch.objects.get().version
    accept_proposal(by=made.by, proposal=newest)
    assert _books_agree()


def test_a_run_reserved_beside_a_new_analysis_ends_with_its_weights(attempt):
    made = store()
    run = made.plan(10)
    lot = Lot.objects.get(code="BITTER-A")
    at_once(
        lambda: reserve_run(by=made.by, run=run, expected=1),
        lambda: made.analysed(lot, 0.06),
    )
    do_jobs()
    for proposal in open_proposals():
        accept_proposal(by=made.by, proposal=proposal)
    row = Batch.objects.get().allocations.get(current=True, bill_line__role="absorb")
    assert row.alpha == pytest.approx(0.06, rel=0.1)
    assert _books_agree()
