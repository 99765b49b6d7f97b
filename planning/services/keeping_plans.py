"""Keeping a plan as it stands, and taking up the runs that it suggests."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from boxwort.accounts.models import SiteSettings, User
from boxwort.accounts.services import service, write_history
from boxwort.collecting import uncollected
from boxwort.errors import Refusal
from inventory.services.entries import REASON_LENGTH, check_text
from planning.engine.plan import PlanResult
from planning.models import Plan, PlannedItem, PlannedOrder, Run
from planning.queries.plan_figures import plan_figures
from planning.queries.plan_rows import SuggestedRunRow, Suggestions, runs_mark
from planning.queries.purchasing import serves
from planning.services.runs import KitsAsked, plan_run
from recipes.models import Kit


@service
def keep_plan(*, by: User, plan: PlanResult, note: str = "") -> Plan:
    """Keep a plan: what it suggests to pack and to order, what each is for, and its figures.

    The plan was made before, so that nothing is reckoned while the database is held.
    """
    check_text(note, REASON_LENGTH, "The note")
    given = plan.given
    kept = Plan.objects.create(
        made_by=by, as_of=given.today, weeks=given.weeks, note=note, figures=plan_figures(plan)
    )
    with uncollected():
        PlannedItem.objects.bulk_create([*_runs(kept, plan), *_purchases(kept, plan)])
    write_history(by=by, thing=kept, action="keep plan", after={"as_of": given.today, "note": note})
    return kept


def _runs(kept: Plan, plan: PlanResult) -> Iterator[PlannedItem]:
    given, usable = plan.given, plan.bench.usable
    days = [given.day(bucket).isoformat() for bucket in range(given.buckets + 1)]
    for level in plan.levels:
        runs, leaves = level.runs, usable[level.runs.bucket]
        by_kit: dict[int, list[PlannedOrder]] = defaultdict(list)
        needed = np.maximum(runs.needed, leaves)
        columns = (runs.kit, runs.bucket, needed, runs.needed < leaves, runs.kits)
        for kit, bucket, leaving, past_due, kits, pegs in zip(
            *(column.tolist() for column in columns), plan.runs_serve(level), strict=True
        ):
            order = PlannedOrder(days[bucket], days[leaving], past_due, kits, 0, pegs)
            by_kit[kit].append(order)
        for kit, orders in by_kit.items():
            yield _proposed(kept, given.items[given.kits[kit].item].item_id, None, orders)


def _purchases(kept: Plan, plan: PlanResult) -> Iterator[PlannedItem]:
    found: dict[tuple[int, int], list[PlannedOrder]] = defaultdict(list)
    for buy, for_what in zip(plan.buys, serves(plan), strict=True):
        found[plan.given.items[buy.item].item_id, buy.offer.offer_id].append(
            PlannedOrder(
                order_by=buy.days.order_by.isoformat(),
                need_by=buy.days.need_by.isoformat(),
                past_due=buy.days.past_due,
                quantity=buy.quantity,
                cost=buy.cost,
                pegs=for_what.in_words,
            )
        )
    for (item_id, offer_id), orders in found.items():
        yield _proposed(kept, item_id, offer_id, orders)


def _proposed(
    kept: Plan, item_id: int, offer_id: int | None, orders: Sequence[PlannedOrder]
) -> PlannedItem:
    return PlannedItem(
        plan=kept,
        item_id=item_id,
        offer_id=offer_id,
        quantity=sum(order.quantity for order in orders),
        orders=orders,
    )


@dataclass(frozen=True, kw_only=True)
class TakenUp:
    """A suggested run as a person chose it: its key, and its kits by the kit's number."""

    key: str
    kits: tuple[tuple[int, int], ...]


@service
def take_up_suggestions(
    *, by: User, standing: Suggestions, chosen: Sequence[TakenUp]
) -> tuple[Run, ...]:
    """Plan the suggested runs that a person chose, all or none.

    Parameters
    ----------
    standing: the suggestions as they are now, read before.

    Raises
    ------
    Refusal: ``nothing-chosen``; ``suggestion-changed`` where a chosen one does not stand any more
        as it was shown; ``runs-changed`` where a run was planned or changed meanwhile.
    """
    if not chosen:
        raise Refusal(
            "nothing-chosen", "No suggested run was chosen.", "Choose at least one of them."
        )
    SiteSettings.objects.select_for_update().get(pk=1)  # one at a time
    if runs_mark() != standing.mark:
        raise Refusal(
            "runs-changed",
            "A run was planned or changed while you chose.",
            "Open the plan again: it suggests what is still lacking.",
        )
    known = {run.key: run for run in standing.runs}
    runs = [_standing(known.get(one.key), one) for one in chosen]
    kits = Kit.objects.select_related("item", "method__revision__recipe").in_bulk(
        {line.kit_id for run in runs for line in run.lines}
    )
    return tuple(
        plan_run(
            by=by,
            pack_on=run.pack_on,
            lines=[KitsAsked(kit=kits[line.kit_id], kits=line.kits) for line in run.lines],
            note="Suggested by the plan",
        )
        for run in runs
    )


def _standing(found: SuggestedRunRow | None, asked: TakenUp) -> SuggestedRunRow:
    """Return the suggestion that stands, if it is the one that was shown."""
    kits = tuple(sorted((line.kit_id, line.kits) for line in found.lines)) if found else ()
    if found is None or kits != tuple(sorted(asked.kits)):
        raise Refusal(
            "suggestion-changed",
            "The plan no longer suggests this run as it was shown.",
            "Open the plan again and choose from what it suggests now.",
        )
    return found
