from datetime import timedelta

import pytest

from boxwort.errors import Refusal
from boxwort.jobs.models import Job
from inventory.models import Ending, Lot, LotStock, Reservation
from inventory.services.catalogue import write_place
from inventory.services.lots import count_lot, hold_lot, move_lot, release_lot
from planning.models import Batch, Proposal, ProposalState
from planning.queries.proposals import proposal_row
from planning.queries.rebalancing import change_of
from planning.queries.verify import batch_check
from planning.services.proposing import (
    accept_proposal,
    ask_rebalance,
    refuse_proposal,
    write_proposals,
)
from planning.tasks import rebalance
from tests.planning.make import (
    PACK_ON,
    TODAY,
    aim_at,
    do_jobs,
    grams,
    ibu_of_other_hops,
    open_proposals,
    store,
)

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]


def retested(alpha: float = 0.07, kits: int = 10):
    """Return a store whose bittering lot turned out weaker after a run was reserved."""
    made = store()
    made.reserved(kits)
    made.analysed(lot_named("BITTER-A"), alpha)
    do_jobs()
    return made


def lot_named(code: str):
    return Lot.objects.get(code=code)


def test_a_weaker_analysis_proposes_more_hop_and_says_what_leaving_it_would_cost():
    retested(0.07)
    (proposal,) = open_proposals()
    (row,) = proposal_row(proposal.pk).changed
    assert row["new"] > row["old"]
    assert proposal.ibu_unchanged < proposal.ibu_target - 1
    assert proposal.ibu_corrected == pytest.approx(proposal.ibu_target, abs=0.3)
    assert "BITTER-A" in proposal.cause


def test_the_job_asked_for_twice_proposes_once():
    made = store()
    made.reserved(10)
    made.analysed(lot_named("BITTER-A"), 0.07)
    made.analysed(lot_named("BITTER-A"), 0.069)
    assert do_jobs() == 2
    for job in Job.objects.all():
        rebalance(job.pk)
    assert len(open_proposals()) == 1


def test_an_analysis_that_changes_nothing_proposes_nothing():
    made = store()
    made.reserved(10)
    made.analysed(lot_named("BITTER-A"), 0.08, sampled_on=TODAY - timedelta(days=30))
    do_jobs()
    assert not Proposal.objects.exists()


def test_accepting_grows_the_reservation_voids_the_old_sheet_and_issues_a_new_one():
    made = retested(0.07)
    (proposal,) = open_proposals()
    before = LotStock.objects.get(lot=lot_named("BITTER-A")).reserved
    sheet = accept_proposal(by=made.by, proposal=proposal)
    batch = Batch.objects.get()
    assert LotStock.objects.get(lot=lot_named("BITTER-A")).reserved > before
    assert sheet.number == 2
    assert batch.sheets.get(number=1).voided_at is not None
    assert sheet.previous_digest == batch.sheets.get(number=1).digest
    (row,) = proposal_row(proposal.pk).changed
    on_sheet = {line["key"]: line["per_kit"] for line in sheet.content["lines"]}
    assert on_sheet[row["key"]] == row["new"]
    assert sheet.content["figures"]["ibu"] == pytest.approx(proposal.ibu_corrected)
    endings = set(Reservation.objects.exclude(ending="").values_list("ending", flat=True))
    assert endings == {Ending.REPLACED}


def test_a_refused_proposal_leaves_the_sheet_alone():
    made = retested()
    (proposal,) = open_proposals()
    refuse_proposal(by=made.by, proposal=proposal, note="within our tolerance")
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.REFUSED
    assert proposal.decided_by == made.by
    assert Batch.objects.get().sheets.count() == 1


def test_a_decided_proposal_cannot_be_decided_again():
    made = retested()
    (proposal,) = open_proposals()
    accept_proposal(by=made.by, proposal=proposal)
    with pytest.raises(Refusal, match="accepted already"):
        refuse_proposal(by=made.by, proposal=proposal)


def test_a_proposal_whose_lot_was_analysed_again_cannot_be_accepted():
    made = retested(0.07)
    (proposal,) = open_proposals()
    made.analysed(lot_named("BITTER-A"), 0.06)
    with pytest.raises(Refusal) as refused:
        accept_proposal(by=made.by, proposal=proposal)
    assert refused.value.code == "proposal-out-of-date"
    do_jobs()
    proposal.refresh_from_db()
    assert proposal.state == ProposalState.STALE
    (newer,) = open_proposals()
    accept_proposal(by=made.by, proposal=newer)


def test_a_change_that_needs_more_hop_than_there_is_moves_to_a_lot_that_holds_it():
    made = store(hops=False)
    goods = made.goods
    made.lot(goods.aroma, grams(3000), alpha=0.06)
    made.lot(goods.bittering, grams(450), code="SMALL", alpha=0.08)
    made.reserved(10)
    made.lot(goods.bittering, grams(2000), code="LARGE", alpha=0.08)
    made.analysed(lot_named("SMALL"), 0.05)
    do_jobs()
    (proposal,) = open_proposals()
    (row,) = proposal_row(proposal.pk).changed
    assert (row["old_lot"], row["new_lot"]) == ("SMALL", "LARGE")
    accept_proposal(by=made.by, proposal=proposal)
    assert LotStock.objects.get(lot=lot_named("SMALL")).reserved == 0


def test_without_another_lot_the_job_says_why_nothing_is_proposed():
    made = store(hops=False)
    goods = made.goods
    made.lot(goods.aroma, grams(3000), alpha=0.06)
    made.lot(goods.bittering, grams(450), code="SMALL", alpha=0.08)
    made.reserved(10)
    made.analysed(lot_named("SMALL"), 0.05)
    do_jobs()
    assert not open_proposals()
    (note,) = Job.objects.latest("pk").result["notes"]
    assert "all 10 kits" in note


def test_releasing_a_lot_helps_a_batch_whose_lot_is_on_hold():
    made = store()
    spare = made.lot(made.goods.aroma, grams(3000), code="SPARE", alpha=0.05, status="quarantine")
    made.reserved(10)
    held = lot_named("AROMA-A")
    hold_lot(by=made.by, lot=held, expected=held.version, reason="smells of cheese")
    assert do_jobs() == 0
    release_lot(by=made.by, lot=spare, expected=spare.version)
    assert do_jobs() == 1
    (proposal,) = open_proposals()
    lots = {row["old_lot"]: row["new_lot"] for row in proposal_row(proposal.pk).changed}
    assert lots["AROMA-A"] == "SPARE"
    accept_proposal(by=made.by, proposal=proposal)
    assert not Batch.objects.get().allocations.filter(current=True, lot=held).exists()


def test_releasing_a_lot_nobody_needs_asks_for_no_work():
    made = store()
    made.reserved(10)
    spare = made.lot(made.goods.aroma, grams(10), status="quarantine")
    release_lot(by=made.by, lot=spare, expected=spare.version)
    assert not Job.objects.exists()


def test_a_short_count_takes_the_reservation_and_another_malt_lot_is_proposed():
    made = store()
    made.reserved(10)
    batch = Batch.objects.get()
    row = batch.allocations.get(bill_line__item=made.goods.dry_extract)
    made.lot(made.goods.dry_extract, 100_000_000, code="EXTRA")
    count_lot(
        by=made.by,
        lot=row.lot,
        place=made.shelf,
        counted=0,
        occurred_on=TODAY,
        key="count",
        reason="the sack was empty",
    )
    do_jobs()
    (proposal,) = open_proposals()
    (change,) = proposal_row(proposal.pk).changed
    assert change["new_lot"] == "EXTRA"
    accept_proposal(by=made.by, proposal=proposal)
    taken = batch.allocations.get(current=True, bill_line__item=made.goods.dry_extract)
    assert taken.quantity == row.quantity
    assert taken.reservation.needed_on == PACK_ON


def test_a_batch_that_moved_on_while_it_was_balanced_is_balanced_again():
    made = retested(0.07)
    (proposal,) = open_proposals()
    worked_out_before = change_of(Batch.objects.get())
    accept_proposal(by=made.by, proposal=proposal)
    write_proposals(by=made.by, changes=[worked_out_before], cause="a second analysis")
    job = Job.objects.latest("pk")
    assert (job.state, job.arguments["cause"]) == ("queued", "a second analysis")
    assert not open_proposals()


def test_a_lot_that_was_counted_away_and_found_again_is_proposed_once_more():
    made = store()
    made.reserved(10)
    lot = lot_named("AROMA-A")
    for number, counted in enumerate((0, grams(3000))):
        count_lot(
            by=made.by,
            lot=lot,
            place=made.shelf,
            counted=counted,
            occurred_on=TODAY,
            key=f"count {number}",
            reason="the box was under another",
        )
    do_jobs()
    (proposal,) = open_proposals()
    assert {row["new_lot"] for row in proposal_row(proposal.pk).changed} == {"AROMA-A"}
    accept_proposal(by=made.by, proposal=proposal)
    assert LotStock.objects.get(lot=lot).reserved > 0
    assert batch_check().differences == ()


def test_a_bittering_addition_that_is_no_longer_needed_leaves_the_sheet_and_may_come_back():
    made = store()
    made.reserved(10)
    batch = Batch.objects.get()
    full_target = made.kit.target_ibu
    for target in (ibu_of_other_hops(made.kit, lot_named("AROMA-A")), full_target):
        aim_at(made.kit, target)
        ask_rebalance(by=made.by, kit_ids=[made.kit.pk], cause="asked")
        do_jobs()
        (proposal,) = open_proposals()
        accept_proposal(by=made.by, proposal=proposal)
        needed = target == full_target
        assert (weight_on_sheet(batch) > 0) == needed
        assert (LotStock.objects.get(lot=lot_named("BITTER-A")).reserved > 0) == needed
        assert batch_check().differences == ()
    assert proposal.ibu_unchanged < full_target - 5


def weight_on_sheet(batch):
    (sheet,) = batch.sheets.filter(voided_at=None)
    (line,) = [line for line in sheet.content["lines"] if line["role"] == "absorb"]
    return line["per_kit"]


@pytest.mark.usefixtures("today_stands_still")
def test_a_hop_lot_carried_to_a_warm_place_is_weighed_for_what_it_will_have_lost():
    made = store()
    made.reserved(10, TODAY + timedelta(days=120))
    warm = write_place(
        by=made.by, code="LOFT", name="Loft", temperature_c=35.0, from_on=TODAY - timedelta(days=1)
    )
    lot = lot_named("BITTER-A")
    move_lot(
        by=made.by,
        lot=lot,
        quantity=LotStock.objects.get(lot=lot).on_hand,
        from_place=made.shelf,
        to_place=warm,
        occurred_on=TODAY,
        key="to the loft",
    )
    assert do_jobs() == 1
    (proposal,) = open_proposals()
    assert proposal.ibu_unchanged < proposal.ibu_target
    assert "lies in another place" in proposal.cause
