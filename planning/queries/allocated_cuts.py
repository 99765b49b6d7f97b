"""A run cut as an allocation chose, reckoned anew with what is known of its lots today."""

from __future__ import annotations

from boxwort.errors import Refusal
from planning.engine.chosen_lots import ChosenBatch
from planning.models import LotPlan, Run
from planning.queries.cuts import ChosenLots, RunPlan, run_plan


def allocated_cut(plan: LotPlan, run: Run) -> RunPlan:
    """Return the cut of a run by the lots that an allocation chose for it.

    Raises
    ------
    Refusal: ``not-allocated`` where it chose none for all the kits; ``allocation-out-of-date``
        where the run, or a lot chosen for it, is not what it was.
    """
    chosen = _chosen(plan, run)
    cut = run_plan(run, chosen)
    if any(line.kits != sum(batch.kits for batch in line.batches) for line in cut.lines):
        raise Refusal(
            "allocation-out-of-date",
            f"Run {run.code} cannot be reserved by this allocation any more: its kits or its "
            "lots have changed since.",
            "Search for a better allocation again, or reserve the run on its own page.",
        )
    return cut


def _chosen(plan: LotPlan, run: Run) -> ChosenLots:
    rows = [row for row in plan.answer.get("lines", ()) if row["run"] == run.pk]
    if not rows or any(row["possible"] < row["kits"] for row in rows):
        raise Refusal(
            "not-allocated",
            f"This allocation has no lots for every kit of run {run.code}.",
            "Search again after buying or releasing what is short, or pack fewer kits.",
        )
    return {
        row["line"]: [
            ChosenBatch(kits=batch["kits"], lots=batch["lots"]) for batch in row["batches"]
        ]
        for row in rows
    }
