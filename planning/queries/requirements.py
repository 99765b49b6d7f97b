"""Requirements: what the plan needs of every item, what covers it, and what is missing by when.

Gross is what open and suggested runs take, packed batches having taken theirs, and what is added to
boxes when they leave. Supply is the whole on hand of released lots, reserved or not, on days on
which they can be used, and what is on order. Stock in quarantine or on hold is told apart.

Hops whose bitterness counts are needed in milligrams of the hop that the bill names, and served in
alpha acid; the pegs of such a need are shares of it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from functools import cached_property

import numpy as np

from boxwort.quantities import Measure
from inventory.models import ItemKind
from planning.engine.plan import PlanResult
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_input import Held, IntArray
from planning.engine.plan_pegs import in_whole
from planning.engine.plan_supplies import Source, supply_of


@dataclass(frozen=True, kw_only=True)
class PegRow:
    """A quantity of one supply; ``reference`` is a lot, an order, or the day to buy it by."""

    source: Source
    reference: str
    quantity: int


@dataclass(frozen=True, kw_only=True)
class NeedRow:
    """What one cause takes of an item, and what serves it; the pegs add up to the quantity.

    ``run_code`` is the code of a run, and empty of any other cause; ``named`` is it in words.
    ``alpha`` is milligrams of alpha acid, None where the weight counts.
    """

    kind: CauseKind
    run_code: str
    named: str
    on: date
    quantity: int
    alpha: int | None
    pegs: tuple[PegRow, ...]

    @property
    def to_buy(self) -> int:
        """What of it is covered by no lot and no order."""
        return sum(peg.quantity for peg in self.pegs if peg.source is Source.NET)


@dataclass(frozen=True, kw_only=True)
class MissingRow:
    """What must have arrived by ``on``, and the runs it is for; none: for something else."""

    on: date
    quantity: int
    runs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class RequirementRow:
    """One item's requirement, in whole units of stock.

    Attributes
    ----------
    usable: released and not expired today, reserved or not.
    quarantine, on_hold, expired: on hand, and no supply.
    goes_off: usable today, but left over on the day something is missing, because it expires.
    on_order: ordered and not received; ``late_orders`` should have come already.
    alpha_gross, alpha_net: of hops that bitter, milligrams of alpha acid.
    """

    item_id: int
    item_code: str
    item_name: str
    kind: ItemKind
    measure: Measure
    shelf_days: int | None
    safety_stock: int
    gross: int
    usable: int
    quarantine: int
    on_hold: int
    expired: int
    goes_off: int
    on_order: int
    late_orders: tuple[str, ...]
    needs: tuple[NeedRow, ...]
    missing: tuple[MissingRow, ...]
    alpha_gross: int = 0
    alpha_net: int = 0

    @property
    def net(self) -> int:
        """Everything that must still be ordered."""
        return sum(row.quantity for row in self.missing)


def requirement_rows(plan: PlanResult) -> tuple[RequirementRow, ...]:
    """Return the requirement of every item of a plan, by item code."""
    reader = PlanReader(plan)
    return tuple(reader.requirement(item) for item in plan.items.tolist())


class PlanReader:
    """A plan as rows: needs with their pegs, by item."""

    def __init__(self, plan: PlanResult) -> None:
        self.plan = plan
        self._needs = _by_key(plan.needs.item)
        self._lots = _by_key(plan.table.item)

    @cached_property
    def _pegs(self) -> dict[int, list[tuple[int, int]]]:
        """Supply and quantity by need, in the units of the need; -1: net."""
        pegs, needs = self.plan.netting.pegs, self.plan.needs
        whole = needs.quantity[pegs.need].astype(float)
        by_alpha = needs.alpha[pegs.need] > 0
        order = np.argsort(pegs.need, kind="stable")
        shares = pegs.quantity.copy()
        shares[order] = in_whole(pegs.need[order], pegs.quantity[order].astype(float), whole[order])
        shares = np.where(by_alpha, shares, pegs.quantity)
        found: dict[int, list[tuple[int, int]]] = defaultdict(list)
        rows = zip(pegs.need.tolist(), pegs.supply.tolist(), shares.tolist(), strict=True)
        for need, supply, quantity in rows:
            found[need].append((supply, quantity))
        return found

    @cached_property
    def _bought_for(self) -> dict[int, list[int]]:
        """The orders to place for each need."""
        pegs, found = self.plan.buy_pegs, defaultdict(list)
        for need, buy in zip(pegs.need.tolist(), pegs.supply.tolist(), strict=True):
            if need >= 0 and buy >= 0:
                found[need].append(buy)
        return found

    @cached_property
    def taken(self) -> IntArray:
        """Whole units that needs take of each supply; of alpha acid, by the strength of the day."""
        table, pegs = self.plan.table, self.plan.netting.pegs
        used = pegs.supply >= 0
        sums = np.bincount(pegs.supply[used], weights=self.plan.takes[used], minlength=len(table))
        used_up: IntArray = np.ceil(sums - 1e-6).astype(np.int64)
        return np.minimum(used_up, table.quantity)

    def needs(self, item: int) -> tuple[NeedRow, ...]:
        """Return the needs of an item, by day."""
        return tuple(self._need(need) for need in self._needs.get(item, ()))

    def _need(self, need: int) -> NeedRow:
        needs, plan = self.plan.needs, self.plan
        cause = plan.causes.of(int(needs.cause[need]))
        is_run = cause.kind is CauseKind.RUN
        alpha = int(needs.alpha[need])
        return NeedRow(
            kind=cause.kind,
            run_code=cause.reference if is_run else "",
            named=cause.named,
            on=cause.on if is_run else plan.given.day(int(needs.bucket[need])),
            quantity=int(needs.quantity[need]),
            alpha=alpha or None,
            pegs=tuple(self._peg_rows(need)),
        )

    def _peg_rows(self, need: int) -> Iterator[PegRow]:
        for supply, quantity in self._pegs.get(need, ()):
            if supply >= 0:
                known = supply_of(self.plan.given, self.plan.table, supply)
                yield PegRow(source=known.source, reference=known.code, quantity=quantity)
            else:
                buys = self._bought_for.get(need, ())
                bucket = (
                    self.plan.buys[buys[0]].bucket if buys else int(self.plan.needs.bucket[need])
                )
                day = self.plan.given.day(bucket)
                yield PegRow(source=Source.NET, reference=day.isoformat(), quantity=quantity)

    def missing(self, item: int) -> tuple[MissingRow, ...]:
        """Return what is missing of an item, by day, with the runs that wait for it."""
        lacking = self.plan.lacking.get(item)
        if lacking is None:
            return ()
        runs: dict[int, dict[str, None]] = defaultdict(dict)
        for need in self._needs.get(item, ()):
            if any(supply < 0 for supply, _ in self._pegs.get(need, ())):
                cause = self.plan.causes.of(int(self.plan.needs.cause[need]))
                if cause.kind is CauseKind.RUN:
                    runs[int(self.plan.needs.bucket[need])][cause.reference] = None
        return tuple(
            MissingRow(
                on=self.plan.given.day(bucket),
                quantity=int(lacking[bucket]),
                runs=tuple(runs.get(bucket, ())),
            )
            for bucket in np.flatnonzero(lacking).tolist()
        )

    def requirement(self, item: int) -> RequirementRow:
        """Return the requirement of one item."""
        plan = self.plan
        facts, held = plan.given.items[item], plan.given.held.get(item, Held())
        needs, missing = self._needs.get(item, ()), self.missing(item)
        places = np.array(self._lots.get(item, ()), dtype=np.int64)
        lots = places[places < plan.table.lots]
        orders = [order for order in plan.given.on_order if order.item == item]
        return RequirementRow(
            item_id=facts.item_id,
            item_code=facts.code,
            item_name=facts.name,
            kind=ItemKind(facts.kind),
            measure=facts.measure,
            shelf_days=facts.shelf_days,
            safety_stock=facts.safety_stock,
            gross=int(plan.needs.quantity[needs].sum()) if needs else 0,
            usable=int(plan.table.quantity[lots].sum()),
            quarantine=held.quarantine,
            on_hold=held.on_hold,
            expired=held.expired,
            goes_off=self._goes_off(item, lots),
            on_order=sum(order.quantity for order in orders),
            late_orders=tuple(
                dict.fromkeys(order.code for order in orders if order.due_on < plan.given.today)
            ),
            needs=self.needs(item),
            missing=missing,
            alpha_gross=int(plan.needs.alpha[needs].sum()) if needs else 0,
            alpha_net=int(plan.netting.alpha_net[item].sum()),
        )

    def _goes_off(self, item: int, lots: IntArray) -> int:
        """Return what is usable today and serves nothing, being expired when something lacks."""
        lacking = self.plan.lacking.get(item)
        if lacking is None:
            return 0
        last = int(np.flatnonzero(lacking)[-1])
        gone = lots[self.plan.table.last[lots] < last]
        return int((self.plan.table.quantity[gone] - self.taken[gone]).sum())


def _by_key(keys: IntArray) -> dict[int, list[int]]:
    """Return the places of each key, in their order."""
    found: dict[int, list[int]] = defaultdict(list)
    for place, key in enumerate(keys.tolist()):
        found[key].append(place)
    return found
