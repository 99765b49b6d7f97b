"""One item of the plan through its weeks, with what it is needed for and what serves that."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Any

import numpy as np

from boxwort.accounts.queries import site_settings
from boxwort.quantities import Measure
from boxwort.working import Working
from inventory.models import Item
from planning.engine.kit_cost import MONEY
from planning.engine.order_quantity import discounted_order_quantity, economic_order_quantity
from planning.engine.plan import PlanResult, planned
from planning.engine.plan_buying import first_choice
from planning.engine.plan_phases import Phase, phases
from planning.engine.plan_supplies import Source, supply_of
from planning.queries.plan_input import plan_input
from planning.queries.purchasing import serves
from planning.queries.requirements import NeedRow, PlanReader, RequirementRow

DAYS_A_YEAR = 365
BOUGHT_IN = {
    Measure.MASS: ("kg", 1_000_000),
    Measure.VOLUME: ("L", 1_000_000),
    Measure.COUNT: ("pieces", 1),
}
"""The unit that a buyer thinks in, and how many units of stock it holds."""


@dataclass(frozen=True, kw_only=True)
class ServedRow:
    """What serves, and what it serves: whole units by what they are for, and what is left over.

    ``on`` is the day from which it can be used; ``until`` the last, None: it keeps.
    """

    source: Source
    reference: str
    quantity: int
    on: date
    until: date | None
    serves: tuple[tuple[str, int], ...]

    @property
    def left(self) -> int:
        """What serves nothing yet."""
        return self.quantity - sum(quantity for _, quantity in self.serves)


@dataclass(frozen=True, kw_only=True)
class AtOnce:
    """The cheapest order, in a buyer's unit, with its price breaks where it has any."""

    quantity: float
    unit: str
    working: Working


@dataclass(frozen=True, kw_only=True)
class ItemPhases:
    """One item of the plan as of ``on``, by week."""

    on: date
    item: RequirementRow
    weeks: tuple[Phase, ...]
    needs: tuple[NeedRow, ...]
    supplies: tuple[ServedRow, ...]
    at_once: AtOnce | None


def item_phases(on: date, item_id: int) -> ItemPhases:
    """Return an item of the plan; a fixed number of statements.

    Raises
    ------
    Item.DoesNotExist: there is none, or it is a kit, which is made and not bought.
    """
    plan = planned(plan_input(on))
    places = {item.item_id: at for at, item in enumerate(plan.given.items)}
    place = places.get(item_id)
    if place is None or place in plan.given.kit_of_item:
        raise Item.DoesNotExist
    return item_phases_of(plan, place)


def item_phases_of(plan: PlanResult, place: int) -> ItemPhases:
    """Return an item of a plan, by its place."""
    reader = PlanReader(plan)
    row = reader.requirement(place)
    return ItemPhases(
        on=plan.given.today,
        item=row,
        weeks=phases(plan, place),
        needs=row.needs,
        supplies=(*_there(plan, place), *_to_buy(plan, place)),
        at_once=_at_once(plan, place),
    )


def _at_once(plan: PlanResult, place: int) -> AtOnce | None:
    """Return the order that is cheapest by what the plan needs in a year.

    None where placing or keeping an order costs nothing that is known, or nothing is needed.
    """
    given, item = plan.given, plan.given.items[place]
    offers = first_choice([offer for offer in given.offers if offer.item == place])
    gross = sum(week.gross for week in phases(plan, place))
    share = given.house.holding_share
    if not (offers and offers[0].breaks and item.order_cost and gross and share > 0):
        return None
    unit, size = BOUGHT_IN[item.measure]
    pack = offers[0].pack_quantity / size
    breaks = [(packs * pack, price / pack / MONEY) for packs, price in offers[0].breaks]
    if min(price for _, price in breaks) <= 0:
        return None
    asked: dict[str, Any] = {
        "demand": gross / size * DAYS_A_YEAR / given.buckets,
        "order_cost": item.order_cost / MONEY,
        "unit": unit,
        "currency": site_settings().currency,
    }
    if len(breaks) == 1:
        working = economic_order_quantity(keeping=share * breaks[0][1], **asked)
        return AtOnce(quantity=working.value, unit=unit, working=working)
    found = discounted_order_quantity(holding_share=share, breaks=breaks, **asked)
    return AtOnce(quantity=found.quantity, unit=unit, working=found.working)


def _there(plan: PlanResult, place: int) -> list[ServedRow]:
    """Return the lots and scheduled receipts of an item, first expired first."""
    table, pegs, needs = plan.table, plan.netting.pegs, plan.needs
    found: dict[int, dict[int, float]] = {
        number: {} for number in np.flatnonzero(table.item == place).tolist()
    }
    mine = np.flatnonzero((pegs.supply >= 0) & np.isin(pegs.supply, list(found)))
    for peg in mine.tolist():
        of = found[int(pegs.supply[peg])]
        cause = int(needs.cause[pegs.need[peg]])
        of[cause] = of.get(cause, 0.0) + float(plan.takes[peg])
    order = sorted(found, key=lambda number: (table.last[number], table.first[number]))
    return [_served(plan, number, found[number]) for number in order]


def _served(plan: PlanResult, number: int, used: dict[int, float]) -> ServedRow:
    table = plan.table
    known = supply_of(plan.given, table, number)
    last = int(table.last[number])
    return ServedRow(
        source=known.source,
        reference=known.code,
        quantity=int(table.quantity[number]),
        on=plan.given.day(int(table.first[number])),
        until=None if last >= plan.given.buckets else plan.given.day(last),
        serves=tuple((plan.causes.of(cause).named, round(much)) for cause, much in used.items()),
    )


def _to_buy(plan: PlanResult, place: int) -> list[ServedRow]:
    """Return what the plan orders of an item, by day."""
    rows = []
    for buy, for_what in zip(plan.buys, serves(plan), strict=True):
        if buy.item == place:
            rows.append(
                ServedRow(
                    source=Source.NET,
                    reference=buy.offer.supplier_name,
                    quantity=buy.quantity,
                    on=buy.days.need_by,
                    until=None,
                    serves=for_what.in_words,
                )
            )
    return rows
