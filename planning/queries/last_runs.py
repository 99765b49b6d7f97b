"""Kits that end: how many to have for what will still be sold after they were packed last."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

import numpy as np

from boxwort.accounts.models import SiteSettings
from boxwort.working import Working
from planning.engine.newsvendor import last_run
from planning.engine.plan import PlanResult
from planning.engine.plan_causes import CauseKind
from planning.queries.kit_costs import standard_costs


@dataclass(frozen=True, kw_only=True)
class LastRunRow:
    """A kit with a last day of packing within the plan.

    ``firm`` and ``foreseen`` kits are wanted after that day, until ``last_sale_on`` or as far as
    the plan sees; ``kits`` is how many to have for them, what is foreseen at the number that pays
    best, with its ``working``; None: the price or the cost of the kit is not known, or it earns
    nothing.
    """

    kit_code: str
    kit_name: str
    last_pack_on: date
    last_sale_on: date | None
    firm: int
    foreseen: int
    kits: int | None
    working: Working | None


def last_runs(plan: PlanResult, site: SiteSettings) -> tuple[LastRunRow, ...]:
    """Return the kits that end within the plan, the first to end at the top.

    Statements do not grow with the kits.
    """
    given = plan.given
    ending = [
        (place, kit.last_pack_on)
        for place, kit in enumerate(given.kits)
        if kit.last_pack_on and given.today <= kit.last_pack_on <= given.day(given.buckets - 1)
    ]
    costs = standard_costs([given.kits[place].kit_id for place, _ in ending]) if ending else {}
    rows = []
    for place, last_pack_on in ending:
        kit = given.kits[place]
        firm, foreseen = _wanted_after(plan, kit.item, given.bucket(last_pack_on))
        cost = costs[kit.kit_id]
        kits = working = None
        if 0 < cost.cost < kit.price and not cost.unpriced:
            best = last_run(
                forecast=foreseen,
                spread_share=site.forecast_spread,
                margin=kit.price - cost.cost,
                cost=cost.cost,
                currency=site.currency,
            )
            kits, working = firm + best.kits, best.working
        item = given.items[kit.item]
        rows.append(
            LastRunRow(
                kit_code=item.code,
                kit_name=item.name,
                last_pack_on=last_pack_on,
                last_sale_on=kit.last_sale_on,
                firm=firm,
                foreseen=foreseen,
                kits=kits,
                working=working,
            )
        )
    return tuple(sorted(rows, key=lambda row: (row.last_pack_on, row.kit_code)))


def _wanted_after(plan: PlanResult, item: int, bucket: int) -> tuple[int, int]:
    """Return what is firmly ordered and what is foreseen of an item after a bucket."""
    wanted = plan.wanted
    mine = np.flatnonzero((wanted.item == item) & (wanted.bucket > bucket))
    kits = {CauseKind.ORDER: 0, CauseKind.FORECAST: 0}
    for entry in mine.tolist():
        kits[plan.causes.of(int(wanted.cause[entry])).kind] += int(wanted.quantity[entry])
    return kits[CauseKind.ORDER], kits[CauseKind.FORECAST]
