"""The plan: from demand to runs, from runs to needs, from needs to purchases, pegged both ways.

:func:`planned` is one pure function of a :class:`~planning.engine.plan_input.PlanInput`, so that
what-if asks it again with another input. In this order:

1. customer orders use up the forecast, and both become kits wanted by day (``plan_wanted``);
2. kits are netted level by level, and what is lacking becomes suggested runs (``plan_making``);
3. open and suggested runs, and the boxes that leave, take parts (``plan_parts``);
4. parts are netted against lots as they age and against what is on order (``plan_netting``);
5. what is net becomes orders by lot rule, contract, pack and calendar (``plan_buying``);
6. every need knows what serves it, and every order what it is for.

Conventions: a bucket is a day, bucket 0 is today; receipts arrive at the start of a day and demand
is taken inside it; what should have happened before today happens today and is named.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from planning.engine.pegging import Pegs
from planning.engine.plan_buying import Buy, bought, days_of, first_choice
from planning.engine.plan_causes import Causes
from planning.engine.plan_input import FloatArray, IntArray, PlanInput, PlanOffer
from planning.engine.plan_making import Bench, Level, Making, kits_made
from planning.engine.plan_netting import Netting, netted
from planning.engine.plan_parts import Needs
from planning.engine.plan_pegs import in_whole, renamed, served_in_order
from planning.engine.plan_supplies import SupplyTable, supplies
from planning.engine.plan_wanted import Wanted, wanted_by_customers

KIT = "kit"


@dataclass(frozen=True, kw_only=True, eq=False)
class PlanResult:
    """A plan, with everything it came from.

    Attributes
    ----------
    causes: what needs are for, by number.
    wanted: what customers want. ``levels``: the kits, those that are sold alone first.
    needs: of everything that is bought, in the order in which they are served.
    netting: of the same, with pegs of ``needs`` to ``table``.
    buys: orders to place, by item and bucket.
    lacking: net rows by item, whole units of stock, with the safety stock from the day on which it
        can be here; ``for_needs`` without it. ``nobody_offers``: those that no supplier sells.
    buy_pegs: ``needs`` to ``buys``, whole units of stock; -1: for the safety stock.
    """

    given: PlanInput
    causes: Causes
    bench: Bench
    wanted: Wanted
    table: SupplyTable
    levels: tuple[Level, ...]
    needs: Needs
    netting: Netting
    buys: tuple[Buy, ...]
    buy_pegs: Pegs
    lacking: Mapping[int, IntArray]
    for_needs: Mapping[int, IntArray]
    nobody_offers: frozenset[int]

    @cached_property
    def items(self) -> IntArray:
        """The places of the items that are needed, or of which a safety stock is kept."""
        return _bought_items(self.given, self.needs)

    @cached_property
    def takes(self) -> FloatArray:
        """What each peg of a need takes of its supply, whole units, by its strength that day."""
        pegs, table, needs = self.netting.pegs, self.table, self.needs
        amounts = pegs.quantity.astype(float)
        by_alpha = np.flatnonzero((needs.alpha[pegs.need] > 0) & (pegs.supply >= 0))
        supply, bucket = pegs.supply[by_alpha], needs.bucket[pegs.need[by_alpha]]
        amounts[by_alpha] /= table.alpha[supply] * np.exp(-table.decay[supply] * bucket)
        return amounts

    def runs_serve(self, level: Level) -> list[list[tuple[str, int]]]:
        """Return what each suggested run of a level is for, in words, and how many kits for it."""
        found: list[list[tuple[str, int]]] = [[] for _ in range(len(level.runs))]
        for run, cause, kits in level.run_pegs():
            found[run].append((self.causes.of(cause).named, kits))
        return found

    @cached_property
    def levels_by_number(self) -> Mapping[int, Level]:
        """The levels by their number."""
        return {level.level: level for level in self.levels}


def planned(given: PlanInput) -> PlanResult:
    """Return the plan for an input."""
    causes, bench = Causes(given), Bench(given=given)
    wanted = wanted_by_customers(given, causes)
    table = supplies(given, bench.usable)
    making: Making = kits_made(given, causes, wanted, table, bench)
    needs = making.needs
    items = _bought_items(given, needs)
    netting = netted(given, needs, table, items)
    buying = _Buying(given, netting)
    buying.buy(items)
    return PlanResult(
        given=given,
        causes=causes,
        bench=bench,
        wanted=wanted,
        table=table,
        levels=making.levels,
        needs=needs,
        netting=netting,
        buys=buying.buys,
        buy_pegs=buying.pegs(needs),
        lacking=buying.lacking,
        for_needs=buying.for_needs,
        nobody_offers=frozenset(buying.lacking) - {buy.item for buy in buying.buys},
    )


def _bought_items(given: PlanInput, needs: Needs) -> IntArray:
    needed = np.zeros(len(given.items), dtype=bool)
    needed[needs.item] = True
    for place, item in enumerate(given.items):
        needed[place] |= item.safety_stock > 0 and item.kind != KIT
    return np.flatnonzero(needed)


@dataclass(kw_only=False)
class _Buying:
    """What is net of item after item, and the orders for it."""

    given: PlanInput
    netting: Netting
    buys: tuple[Buy, ...] = ()
    lacking: dict[int, IntArray] = field(default_factory=dict)
    for_needs: dict[int, IntArray] = field(default_factory=dict)

    @cached_property
    def offers(self) -> dict[int, list[PlanOffer]]:
        found: dict[int, list[PlanOffer]] = {}
        for offer in self.given.offers:
            found.setdefault(offer.item, []).append(offer)
        return found

    def buy(self, items: IntArray) -> None:
        """Order what is lacking of items, their safety stock as soon as it can be here."""
        for item in items.tolist():
            self._note(item)
        self.buys = bought(self.given, self.lacking, self.offers)

    def _note(self, item: int) -> None:
        found = self.netting
        rows = (found.net, found.alpha_net, found.safety, found.alpha_safety)
        net, alpha, safety, alpha_safety = (row[item] for row in rows)
        lacking = self._in_stock(item, net, alpha)
        self.for_needs[item] = lacking
        offers = self.offers.get(item, [])
        if safety.any() or alpha_safety.any():
            kept = self._in_stock(item, net + safety, alpha + alpha_safety)
            lacking = self._when_it_comes(lacking, kept, offers)
        if lacking.any():
            self.lacking[item] = lacking

    def _in_stock(self, item: int, weight: IntArray, alpha: IntArray) -> IntArray:
        """Return a net row in whole units of stock, alpha acid at the planning alpha of its crop.

        What work on a hop usually loses comes on top.
        """
        facts = self.given.items[item]
        if not facts.alpha or not (weight.any() or alpha.any()):
            return weight
        per_mg = self.given.strength(item)
        exact = (weight + alpha / per_mg) / (1 - facts.work_loss)
        whole: IntArray = np.ceil(exact - 1e-6).astype(np.int64)
        return whole

    def _when_it_comes(
        self, lacking: IntArray, kept: IntArray, offers: list[PlanOffer]
    ) -> IntArray:
        """Return the net row with the safety stock in it, from the day an order could be here."""
        comes = 0
        if offers:
            days = [days_of(self.given, offer, 0) for offer in first_choice(offers)]
            comes = self.given.bucket(min(day.usable_on for day in days))
        needed, with_safety = np.cumsum(lacking), np.cumsum(kept)
        wanted = np.where(np.arange(len(lacking)) < comes, needed, np.maximum(needed, with_safety))
        return np.diff(np.maximum.accumulate(wanted), prepend=0)

    def pegs(self, needs: Needs) -> Pegs:
        """Return what each order is for, in whole units of stock."""
        net = np.flatnonzero(self.netting.pegs.supply < 0)
        need = self.netting.pegs.need[net]
        order = np.lexsort((need, needs.bucket[need], needs.item[need]))
        need, quantity = need[order], self.netting.pegs.quantity[net][order]
        item, bucket = needs.item[need], needs.bucket[need]
        parts = self._parts(needs, need, quantity)
        rows = np.zeros((len(self.given.items), self.given.buckets), dtype=np.int64)
        for place, row in self.for_needs.items():
            rows[place] = row
        whole = in_whole(
            item * self.given.buckets + bucket, parts, rows[item, bucket].astype(float)
        )
        buy_item = np.array([buy.item for buy in self.buys], dtype=np.int64)
        covered = np.array([buy.net for buy in self.buys], dtype=np.int64)
        pegs = served_in_order(item, whole, buy_item, covered)
        return replace(pegs, need=renamed(pegs.need, need))

    def _parts(self, needs: Needs, need: IntArray, quantity: IntArray) -> FloatArray:
        """Return quantities in proportion to the stock they take: alpha acid by its strength."""
        parts = quantity.astype(float)
        by_alpha = needs.alpha[need] > 0
        for item in np.unique(needs.item[need][by_alpha]).tolist():
            mine = by_alpha & (needs.item[need] == item)
            parts[mine] /= self.given.strength(item)[needs.bucket[need][mine]]
        return parts
