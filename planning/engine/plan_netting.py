"""Needs netted against supplies, and which of those serve which need.

Stock is used up first expired first, by what is usable on each day: a lot past its best-before or
too weak for a pitch is none, and a hop lot counts with the alpha acid that it still has. What
serves a need is known lot by lot; a safety stock adds to what is net and serves no need.

Only days on which something is needed are walked; hops, which lose a share each day, are walked day
by day.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from planning.engine.pegging import Pegs
from planning.engine.phased import Demands, Phased, phased
from planning.engine.plan_input import IntArray, PlanInput
from planning.engine.plan_parts import Needs
from planning.engine.plan_pegs import in_whole, renamed, served_in_order, some_of
from planning.engine.plan_supplies import SupplyTable
from planning.engine.supplies import Supplies, first_expired_first


@dataclass(frozen=True, kw_only=True, eq=False)
class Netting:
    """Items netted over the days of the plan, [items, buckets] by place among the plan's items.

    Attributes
    ----------
    net, alpha_net: what is lacking to serve the needs: whole units, milligrams of alpha acid.
    safety, alpha_safety: what is lacking for safety stocks beyond that, alike; below zero on a day
        on which what was lacking for them before serves needs.
    pegs: needs to the supplies of the table; -1: net. Of needs by alpha acid, in milligrams of it.
    """

    net: IntArray
    alpha_net: IntArray
    safety: IntArray
    alpha_safety: IntArray
    pegs: Pegs


def netted(given: PlanInput, needs: Needs, table: SupplyTable, items: IntArray) -> Netting:
    """Return the netting of some items; needs are in the order in which they are served."""
    shape = len(given.items), given.buckets
    found = Netting(
        net=np.zeros(shape, dtype=np.int64),
        alpha_net=np.zeros(shape, dtype=np.int64),
        safety=np.zeros(shape, dtype=np.int64),
        alpha_safety=np.zeros(shape, dtype=np.int64),
        pegs=_no_pegs(),
    )
    hops = np.zeros(len(given.items), dtype=bool)
    hops[needs.item[needs.alpha > 0]] = True
    pegs = []
    for chosen in (items[~hops[items]], items[hops[items]]):
        mine = np.flatnonzero(np.isin(needs.item, chosen))
        if len(chosen):
            asked = _Asked(given, needs.at(mine), table, chosen)
            part = asked.netted_into(found)
            pegs.append(Pegs(need=mine[part.need], supply=part.supply, quantity=part.quantity))
    return replace(found, pegs=_all_of(pegs))


def _no_pegs() -> Pegs:
    none = np.zeros(0, dtype=np.int64)
    return Pegs(need=none, supply=none, quantity=none)


def _all_of(parts: list[Pegs]) -> Pegs:
    return Pegs(
        **{
            name: np.concatenate([getattr(part, name) for part in (_no_pegs(), *parts)])
            for name in ("need", "supply", "quantity")
        }
    )


class _Asked:
    """Needs in groups that are alike to every supply, and the supplies of their items."""

    def __init__(self, given: PlanInput, needs: Needs, table: SupplyTable, items: IntArray) -> None:
        self.given, self.needs, self.table, self.items = given, needs, table, items
        self.days = self._days()
        self.place = np.full(len(given.items), -1, dtype=np.int64)
        self.place[items] = np.arange(len(items))
        self.numbers = self._numbers()
        self.groups, self.group_of = self._grouped()
        self.at = np.searchsorted(self.days, needs.bucket)
        last = self.table.last[self.numbers]
        self.supplies = Supplies(
            item=self.place[table.item[self.numbers]],
            first=np.searchsorted(self.days, table.first[self.numbers]),
            last=self._upto(last),
            quantity=table.quantity[self.numbers],
            alpha=table.alpha[self.numbers] if needs.alpha.any() else None,
            decay=table.decay[self.numbers],
        )
        self.demands = Demands(
            item=self.place[self.groups[:, 0]],
            weight=self._summed(needs.quantity * (needs.alpha == 0)),
            alpha=self._summed(needs.alpha).astype(float) if needs.alpha.any() else None,
            narrowed=self._narrowed(),
        )

    def _days(self) -> IntArray:
        """Return the buckets to walk: today for the safety stocks, and those of the needs."""
        if self.needs.alpha.any():
            return np.arange(self.given.buckets)
        return np.unique(np.append(self.needs.bucket, 0))

    def _upto(self, last: IntArray) -> IntArray:
        """Return the last walked bucket that is not after a bucket."""
        return np.searchsorted(self.days, last, side="right") - 1

    def _numbers(self) -> IntArray:
        table = self.table
        mine = np.flatnonzero(self.place[table.item] >= 0)
        order = first_expired_first(
            table.item[mine], table.last[mine], table.first[mine], receipt=mine >= table.lots
        )
        return mine[order]

    def _grouped(self) -> tuple[IntArray, IntArray]:
        """Return item and pitch of each group, the pickiest of an item first, and each need's.

        Items of which nothing is needed have a group too, for their safety stock.
        """
        item = np.concatenate((self.needs.item, self.items))
        pitch = np.concatenate((self.needs.pitch, np.full(len(self.items), -1)))
        key = item * (len(self.given.pitch_item) + 1) + pitch + 1
        _, first, at = np.unique(key, return_index=True, return_inverse=True)
        groups = np.stack((item[first], pitch[first]), axis=1)
        reach = np.array([self._reach(pitch) for _, pitch in groups.tolist()], dtype=np.int64)
        order = np.lexsort((reach, groups[:, 0]))
        rank = np.empty_like(order)
        rank[order] = np.arange(len(order))
        return groups[order], rank[at[: len(self.needs)]]

    def _reach(self, pitch: int) -> int:
        """Return how long the lots last for a pitch, all together."""
        if pitch < 0:
            return (self.given.buckets + 1) * len(self.given.lots) + 1
        return int(self.given.pitch_last[pitch].sum())

    def _summed(self, quantity: IntArray) -> IntArray:
        sums = np.zeros((len(self.groups), len(self.days)), dtype=np.int64)
        np.add.at(sums, (self.group_of, self.at), quantity)
        return sums

    def _narrowed(self) -> dict[int, IntArray]:
        """Return the last bucket of each lot for each pitch, where it is sooner than its date."""
        found = {}
        for group, (item, pitch) in enumerate(self.groups.tolist()):
            if pitch >= 0:
                numbers = self.numbers[self.table.item[self.numbers] == item]
                last = self.table.last[numbers].copy()
                lots = numbers < self.table.lots
                last[lots] = np.minimum(last[lots], self.given.pitch_last[pitch, numbers[lots]])
                found[group] = self._upto(last)
        return found

    def netted_into(self, netting: Netting) -> Pegs:
        """Write the rows of these items, and return their pegs."""
        safety = np.array(
            [self.given.items[item].safety_stock for item in self.items.tolist()], dtype=np.int64
        )
        found = self._phased(np.zeros_like(safety))
        net, alpha_net = self._by_item(found)
        rows = np.ix_(self.items, self.days)
        netting.net[rows], netting.alpha_net[rows] = net, alpha_net
        if safety.any():
            kept, alpha_kept = self._by_item(self._phased(safety))
            netting.safety[rows], netting.alpha_safety[rows] = kept - net, alpha_kept - alpha_net
        return self._pegs(found)

    def _phased(self, safety: IntArray) -> Phased:
        planned = [self.given.items[item].alpha or 0.0 for item in self.items.tolist()]
        return phased(
            self.demands,
            self.supplies,
            items=len(self.items),
            safety=safety,
            planned_alpha=np.array(planned),
        )

    def _by_item(self, found: Phased) -> tuple[IntArray, IntArray]:
        net = np.zeros((len(self.items), len(self.days)), dtype=np.int64)
        alpha = np.zeros_like(net)
        np.add.at(net, self.demands.item, found.net)
        np.add.at(alpha, self.demands.item, np.ceil(found.alpha_net).astype(np.int64))
        return net, alpha

    def _pegs(self, found: Phased) -> Pegs:
        """Return which supply serves which need."""
        key, supply, quantity = self._uses(found)
        by_alpha = self.needs.alpha > 0
        need_key = (self.group_of * len(self.days) + self.at) * 2 + by_alpha
        order = np.argsort(need_key, kind="stable")
        wanted = np.where(by_alpha, self.needs.alpha, self.needs.quantity)
        pegs = served_in_order(need_key[order], wanted[order], key, quantity)
        pegs = some_of(pegs, pegs.need >= 0)
        return Pegs(
            need=order[pegs.need],
            supply=renamed(pegs.supply, self.numbers[supply]),
            quantity=pegs.quantity,
        )

    def _uses(self, found: Phased) -> tuple[IntArray, IntArray, IntArray]:
        """Return key, supply and quantity of all that is taken, in the order of use."""
        rows = []
        group_at = np.full((found.rank.max(initial=0) + 1, len(self.items)), -1)
        group_at[found.rank, self.demands.item] = np.arange(len(self.groups))
        for rank, taken in enumerate(found.taken):
            supply, bucket = np.nonzero(taken)
            group = group_at[rank, self.supplies.item[supply]]
            key = (group * len(self.days) + bucket) * 2
            rows.append((key, supply, taken[supply, bucket]))
        supply, bucket = np.nonzero(found.taken_for_alpha)
        group = group_at[0, self.supplies.item[supply]]
        key = (group * len(self.days) + bucket) * 2 + 1
        order = np.lexsort((supply, key))
        key, supply, bucket, group = key[order], supply[order], bucket[order], group[order]
        given = self.demands.weight[:0, 0]
        if self.demands.alpha is not None:
            served = self.demands.alpha - np.ceil(found.alpha_net)
            given = in_whole(key, found.alpha_given[supply, bucket], served[group, bucket])
        rows.append((key, supply, given))
        key, supply, quantity = (np.concatenate(column) for column in zip(*rows, strict=True))
        order = np.lexsort((supply, key))
        return key[order], supply[order], quantity[order]
