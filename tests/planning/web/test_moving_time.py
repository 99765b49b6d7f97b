"""A boil time that moved is shown beside the recipe's."""

from __future__ import annotations

from django.test import Client

from planning.models import Allocation, Batch
from tests.planning.make import do_jobs, grams, open_proposals, pouched_ale, store
from tests.planning.web.asking import text_of


def test_run_sheet_and_proposal_show_the_minutes_of_the_batch_and_of_the_recipe(
    db: None, planner: Client
) -> None:
    made = store(hops=False, recipe=pouched_ale)
    bitter = made.lot(made.goods.bittering, grams(2000), code="BITTER-A", alpha=0.095)
    made.lot(made.goods.aroma, grams(3000), code="AROMA-A", alpha=0.06)
    run = made.plan()
    assert "min (recipe: 35)" in text_of(planner, "run-cut", run.pk)
    made.reserved()
    minutes = Allocation.objects.get(bill_line__key="hop-1").minutes
    shown = f"last {minutes} min (recipe: 35)"
    batch = Batch.objects.get()
    assert shown in text_of(planner, "run-detail", batch.run_line.run_id)
    assert shown in text_of(planner, "sheet-detail", batch.sheets.get().pk)
    made.analysed(bitter, 0.085)
    do_jobs()
    (proposal,) = open_proposals()
    text = text_of(planner, "proposal-detail", proposal.pk)
    assert f"on the sheet <s>{minutes} min</s>" in text
    assert "(recipe: 35)" in text
