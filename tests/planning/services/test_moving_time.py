"""A pouch of a fixed weight: its boil time follows the lot, from the plan to the papers."""

import pytest

from boxwort.accounts.models import SiteSettings
from inventory.models import AnalysisKind, Lot
from inventory.services.analyses import record_analysis
from planning.documents.brew_day import brew_steps
from planning.models import Allocation, Batch, Run, SheetRevision
from planning.queries.cuts import run_plan
from planning.queries.previews import run_preview
from planning.queries.proposals import proposal_row
from planning.queries.runs import batch_rows
from planning.queries.verify import batch_check
from planning.services.proposing import accept_proposal
from tests.planning.make import TODAY, do_jobs, grams, open_proposals, pouched_ale, store

pytestmark = [pytest.mark.django_db, pytest.mark.usefixtures("today_stands_still")]

WEAK = 0.078
STRONG = 0.095


def pouches(alpha: float = 0.08):
    made = store(hops=False, recipe=pouched_ale)
    made.lot(made.goods.bittering, grams(2000), code="BITTER-A", alpha=alpha)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    return made


def pouch() -> Allocation:
    return Allocation.objects.get(current=True, bill_line__key="hop-1")


def sheet_line(key: str = "hop-1"):
    sheet = SheetRevision.objects.get(voided_at__isnull=True)
    return next(line for line in sheet.content["lines"] if line["key"] == key)


def test_a_weaker_lot_boils_longer_and_every_pouch_keeps_its_weight():
    made = pouches(WEAK)
    made.reserved()
    kept = pouch()
    assert kept.per_kit == grams(36)
    assert kept.minutes is not None
    assert 35 < kept.minutes < 60
    figures = SheetRevision.objects.get().content["figures"]
    assert figures["ibu"] == pytest.approx(figures["ibu_target"], abs=0.4)


def test_a_stronger_lot_boils_shorter():
    made = pouches(STRONG)
    made.reserved()
    assert 20 <= (pouch().minutes or 0) < 35


def test_a_pouch_at_the_minutes_of_the_recipe_notes_none_of_its_own():
    made = store(hops=False, recipe=pouched_ale, shelf_days=1)
    for item, alpha in ((made.goods.bittering, 0.08), (made.goods.aroma, 0.06)):
        made.lot(item, grams(2000), alpha=alpha, received_on=TODAY)
    (batch,) = run_plan(made.plan()).lines[0].batches
    assert batch.balance.minutes == {"hop-1": 35}
    assert {row.minutes for row in batch.taken} == {None}


def test_the_plan_and_the_batch_show_both_times():
    made = pouches(WEAK)
    run = made.plan()
    (batch,) = run_preview(run).lines[0].batches
    shown = next(row for row in batch.hops if row.item_code == "BITTER")
    assert (shown.recipe_minutes, shown.minutes > 35) == (35, True)
    made.reserved()
    (row,) = batch_rows(Run.objects.get(state="reserved").pk)
    kept = next(each for each in row.allocations if each.key == "hop-1")
    assert (kept.recipe_minutes, kept.minutes) == (35, pouch().minutes)


def test_the_sheet_and_its_steps_say_the_minutes_of_this_batch():
    made = pouches(STRONG)
    made.reserved()
    minutes = pouch().minutes
    assert (sheet_line()["minutes"], sheet_line()["recipe_minutes"]) == (minutes, 35)
    steps = brew_steps(SheetRevision.objects.get().content, "metric")
    (step,) = [step for step in steps if step["title"] == f"{minutes} minutes before the end"]
    assert "Bitter" in step["text"]


def retested(alpha: float):
    made = pouches()
    made.reserved()
    made.analysed(Lot.objects.get(code="BITTER-A"), alpha)
    do_jobs()
    return made


def test_a_new_analysis_proposes_other_minutes_at_the_same_weight():
    retested(0.074)
    (proposal,) = open_proposals()
    (row,) = proposal_row(proposal.pk).changed
    assert (row["old"], row["new"]) == (grams(36), grams(36))
    assert row["old_minutes"] == sheet_line()["minutes"]
    assert row["new_minutes"] > row["old_minutes"]


def test_accepting_moves_the_time_in_the_batch_and_on_its_sheet():
    made = retested(0.074)
    (proposal,) = open_proposals()
    (row,) = proposal_row(proposal.pk).changed
    accept_proposal(by=made.by, proposal=proposal)
    assert pouch().minutes == sheet_line()["minutes"] == row["new_minutes"]
    assert Batch.objects.get().sheets.count() == 2
    assert batch_check().differences == ()


def test_the_same_minutes_are_not_proposed_twice():
    made = retested(0.074)
    accept_proposal(by=made.by, proposal=open_proposals()[0])
    made.analysed(Lot.objects.get(code="BITTER-A"), 0.074)
    do_jobs()
    assert open_proposals() == []


def test_minutes_in_the_books_that_the_sheet_does_not_say_are_named():
    made = pouches(WEAK)
    made.reserved()
    Allocation.objects.filter(pk=pouch().pk).update(minutes=31)
    (said,) = batch_check().differences
    assert said.endswith("does not say what is allocated for hop-1.")


def test_a_lot_in_another_form_counts_by_what_its_form_gives():
    SiteSettings.objects.update(form_factor_pellet=1.0, form_factor_cone=0.9)
    made = store(hops=False)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    made.lot(made.goods.bittering, grams(2000), code="CONES", alpha=0.08, form="cone")
    (batch,) = run_plan(made.plan()).lines[0].batches
    absorbing, aroma = batch.balance.rows[0], batch.balance.rows[1]
    assert (absorbing.form_factor, aroma.form_factor) == (0.9, 1.0)
    assert batch.balance.ibu_corrected == pytest.approx(batch.balance.ibu_target, abs=0.4)
    terms = {term.name: term.value for term in batch.balance.working.parts[0].terms}
    assert terms["form factor"] == 0.9


def test_alpha_acids_of_two_methods_are_named_in_the_working():
    made = store(hops=False)
    for item, alpha, method in (
        (made.goods.bittering, 0.08, "hplc"),
        (made.goods.aroma, 0.06, "conductometric"),
    ):
        lot = made.lot(item, grams(3000))
        record_analysis(
            by=made.by,
            lot=lot,
            kind=AnalysisKind.ALPHA,
            sampled_on=TODAY,
            value=alpha,
            method=method,
        )
    (batch,) = run_plan(made.plan()).lines[0].batches
    (note,) = batch.balance.notes
    assert "HPLC: Bitter at 60 min" in note
    assert "Conductometric: Aroma at 15 min" in note
