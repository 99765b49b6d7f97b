"""Cover: how many weeks the stock of each item lasts, and which lots will not be used in time.

By the plan as it stands: what is needed is what open and suggested runs take. An item's value is
what the plan uses of it over its weeks, at what it costs now.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import inf

import numpy as np
from django.db.models import Max

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from inventory.models import Lot, Move
from inventory.models.routes import USES
from planning.engine.cover import Lasting, lasting, value_classes, weeks_of_cover
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_input import IntArray
from planning.engine.plan_phases import Phase, phases
from planning.queries.item_costs import Cost, item_costs
from planning.queries.kit_costs import in_cents
from planning.queries.plan_input import plan_input

WEEKS_SHOWN = 12


@dataclass(frozen=True, kw_only=True)
class CoverRow:
    """One item, in whole units of stock and ten-thousandths.

    Attributes
    ----------
    usable: what can be used today.
    weeks_of_cover: how long that lasts; None: nothing of it is needed.
    short_on: the first day on which something is lacking that no lot or order serves; None: none.
    value_class: A, B or C by ``used_value``, what the plan uses over all its weeks.
    weeks: the coming weeks, as the plan has them.
    """

    item_id: int
    item_code: str
    item_name: str
    kind: str
    measure: Measure
    usable: int
    weeks_of_cover: float | None
    short_on: date | None
    value_class: str
    used_value: int
    weeks: tuple[Phase, ...]


@dataclass(frozen=True, kw_only=True)
class LotRiskRow:
    """A lot that lies too long, or of which something will go off before it is used."""

    lot_id: int
    lot_code: str
    item_code: str
    item_name: str
    measure: Measure
    on_hand: int
    ends_on: date | None
    last_used_on: date | None
    lasting: Lasting
    value: int


@dataclass(frozen=True, kw_only=True)
class Cover:
    """Every item that is planned, what presses first; and the lots at risk, the dearest first."""

    on: date
    until: date
    currency: str
    rows: tuple[CoverRow, ...]
    lots: tuple[LotRiskRow, ...]

    @property
    def mondays(self) -> tuple[date, ...]:
        """The weeks shown."""
        return tuple(week.week_on for week in self.rows[0].weeks) if self.rows else ()

    @property
    def value_at_risk(self) -> int:
        """What the stock cost that will go off unused."""
        return sum(row.lasting.value_lost for row in self.lots)

    @property
    def slow_value(self) -> int:
        """What the stock cost that lies too long."""
        return sum(row.value for row in self.lots if row.lasting.slow)


def cover(on: date) -> Cover:
    """Return the cover of every planned item as of ``on``; a fixed number of statements."""
    site = site_settings()
    plan = planned(plan_input(on))
    lots = Lot.objects.in_bulk([lot.lot_id for lot in plan.given.lots])
    costs = item_costs()
    weeks = {place: phases(plan, place) for place in plan.items.tolist()}
    used = {
        str(place): _value(
            sum(week.gross for week in found), costs.get(plan.given.items[place].item_id, (0, 0))
        )
        for place, found in weeks.items()
    }
    classes = value_classes(used)
    rows = [
        _row(plan, place, found, classes[str(place)], used[str(place)])
        for place, found in weeks.items()
    ]
    until = plan.given.day(plan.given.buckets - 1)
    return Cover(
        on=on,
        until=until,
        currency=site.currency,
        rows=tuple(sorted(rows, key=_pressing)),
        lots=_lots_at_risk(plan, lots, until, site.slow_days),
    )


def _row(
    plan: PlanResult, place: int, weeks: Sequence[Phase], value_class: str, used: int
) -> CoverRow:
    item, table = plan.given.items[place], plan.table
    today = (table.item == place) & (table.first <= 0) & (table.last >= 0)
    usable = int(table.quantity[: table.lots][today[: table.lots]].sum())
    lasts = weeks_of_cover(usable, [week.gross for week in weeks])
    return CoverRow(
        item_id=item.item_id,
        item_code=item.code,
        item_name=item.name,
        kind=item.kind,
        measure=item.measure,
        usable=usable,
        weeks_of_cover=None if lasts == inf else lasts,
        short_on=_first_short(plan, place),
        value_class=value_class,
        used_value=used,
        weeks=tuple(weeks[:WEEKS_SHOWN]),
    )


def _first_short(plan: PlanResult, place: int) -> date | None:
    lacking = np.flatnonzero(plan.lacking.get(place, ()))
    return plan.given.day(int(lacking[0])) if len(lacking) else None


def _pressing(row: CoverRow) -> tuple[object, ...]:
    """Return what puts an item before another: what is short first, then what lasts least."""
    lasts = inf if row.weeks_of_cover is None else row.weeks_of_cover
    return row.short_on or date.max, lasts, row.value_class, row.item_code


def _value(quantity: int, cost: Cost) -> int:
    amount, for_quantity = cost
    return in_cents(Fraction(amount * quantity, for_quantity)) if for_quantity else 0


def _lots_at_risk(
    plan: PlanResult, lots: Mapping[int, Lot], until: date, slow_days: int
) -> tuple[LotRiskRow, ...]:
    taken = _taken_by_lot(plan)
    last_used = dict(
        Move.objects.filter(lot__in=lots, to_place__kind__in=USES)
        .values_list("lot")
        .annotate(Max("posting__occurred_on"))
        .order_by()
    )
    rows = []
    for place, lot in enumerate(plan.given.lots):
        row = lots[lot.lot_id]
        cost = (row.cost_amount, row.cost_quantity)
        found = lasting(
            on_hand=lot.quantity,
            planned=int(taken[place]),
            ends_on=lot.last_on,
            until=until,
            cost=cost,
            last_used_on=last_used.get(lot.lot_id, row.received_on),
            today=plan.given.today,
            slow_days=slow_days,
        )
        if found.lost or found.slow:
            item = plan.given.items[lot.item]
            rows.append(
                LotRiskRow(
                    lot_id=lot.lot_id,
                    lot_code=lot.code,
                    item_code=item.code,
                    item_name=item.name,
                    measure=item.measure,
                    on_hand=lot.quantity,
                    ends_on=lot.last_on,
                    last_used_on=last_used.get(lot.lot_id),
                    lasting=found,
                    value=_value(lot.quantity, cost),
                )
            )
    return tuple(sorted(rows, key=lambda row: (-row.lasting.value_lost, -row.value, row.lot_code)))


def _taken_by_lot(plan: PlanResult) -> IntArray:
    """Return what the plan takes of each lot, whole units: for kits, and of kits that are sold."""
    taken = np.zeros(len(plan.table))
    pegs = plan.netting.pegs
    served = pegs.supply >= 0
    np.add.at(taken, pegs.supply[served], plan.takes[served])
    for level in plan.levels:
        sold = level.pegs.supply >= 0
        np.add.at(taken, level.pegs.supply[sold], level.pegs.quantity[sold])
    whole: IntArray = np.rint(taken[: plan.table.lots]).astype(np.int64)
    return whole
