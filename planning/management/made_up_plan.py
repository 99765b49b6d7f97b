"""A plan that is made up to measure with, the same one each time, and what its arithmetic costs.

At scale 1 a house sells 240 kits of 15 lines each and plans them for 26 weeks, from 150 ingredients
in 500 lots and open orders. A scale of 10 has ten times as many of each, and as many weeks.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from boxwort.quantities import MG_PER_G, MG_PER_KG
from planning.engine.explosion import Bills, exploded
from planning.engine.phased import Demands, Phased, phased
from planning.engine.rules import (
    FIXED,
    LEAST_COST,
    LOT_FOR_LOT,
    MINIMUM,
    PERIOD,
    LotSizing,
    LotSizings,
)
from planning.engine.sizing import sized_many
from planning.engine.supplies import Supplies, first_expired_first

IntArray = NDArray[np.int64]
FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

KITS, LINES, WEEKS, INGREDIENTS, LOTS = 240, 15, 26, 150, 500
GRAIN, HOP, YEAST, BOX = range(4)
SHARES = (50, 40, 10, 50)
"""How many of 150 ingredients are of each kind."""
BILL = (GRAIN,) * 4 + (HOP,) * 4 + (YEAST,) + (BOX,) * 6
"""The kinds of a kit's lines; the first two hops are wanted by alpha acid, the others by weight."""
BY_ALPHA = (4, 5)
KEEPS = 10 * WEEKS
LOST_A_WEEK = 0.006
WORK_LOSS = 0.02
PACKS = {GRAIN: 25 * MG_PER_KG, HOP: 5 * MG_PER_KG, YEAST: 10, BOX: 100}
_MOST_IN_A_KIT = {GRAIN: 5 * MG_PER_KG, HOP: 60 * MG_PER_G, YEAST: 2, BOX: 4}
_ROWS_AT_ONCE = 1_024


@dataclass(frozen=True, kw_only=True, eq=False)
class MadeUpPlan:
    """Kits, their bills, what is there and how it is bought, all in weeks.

    Attributes
    ----------
    kind: of each ingredient. ``alpha``: the share of alpha acid of each as planned, 0 of no hop.
    wanted: [kits, weeks].
    line: the place of each bill row in its kit's bill; ``bills`` are sorted by component.
    receipt: which of the supplies are on order; the others lie in store.
    """

    kind: IntArray
    alpha: FloatArray
    wanted: IntArray
    bills: Bills
    line: IntArray
    supplies: Supplies
    receipt: BoolArray
    rules: tuple[LotSizing, ...]

    @property
    def ingredients(self) -> int:
        """How many ingredients there are."""
        return len(self.kind)

    @cached_property
    def groups(self) -> IntArray:
        """The ingredient of each group of needs: one of each, then of each yeast the easier."""
        return np.concatenate((np.arange(self.ingredients), np.flatnonzero(self.kind == YEAST)))

    @cached_property
    def by_group(self) -> Bills:
        """The bills by group; a row that is wanted by alpha acid stands behind all groups.

        Every second kit with a yeast is easier on it.
        """
        component = self.bills.component.copy()
        component[np.isin(self.line, BY_ALPHA)] += len(self.groups)
        place = np.full(self.ingredients, -1)
        place[self.groups[self.ingredients :]] = np.arange(self.ingredients, len(self.groups))
        easy = (self.kind[self.bills.component] == YEAST) & (self.bills.parent % 2 == 1)
        component[easy] = place[self.bills.component[easy]]
        rows = Bills(
            parent=self.bills.parent,
            component=component,
            packed=self.bills.packed,
            overage=self.bills.overage,
        )
        return rows.at(np.argsort(component, kind="stable"))

    @cached_property
    def narrowed(self) -> dict[int, IntArray]:
        """The last week of every yeast lot for the pickier kits: a quarter sooner."""
        yeasts = np.flatnonzero(self.kind == YEAST).tolist()
        item, last = self.supplies.item, self.supplies.last
        begins, ends = np.searchsorted(item, yeasts), np.searchsorted(item, yeasts, side="right")
        return {
            yeast: last[begin:end] * 3 // 4
            for yeast, begin, end in zip(yeasts, begins, ends, strict=True)
        }

    @cached_property
    def sizings(self) -> LotSizings:
        """The lot rules in arrays."""
        return LotSizings.of(self.rules)

    def explode(self) -> Demands:
        """Return what the kits take of every group, as they are packed in the week of demand."""
        count = len(self.groups)
        taken = exploded(self.wanted, self.by_group, items=count + self.ingredients)
        alpha = np.zeros((count, WEEKS))
        alpha[: self.ingredients] = taken[count:] * self.alpha[:, None]
        return Demands(item=self.groups, weight=taken[:count], alpha=alpha, narrowed=self.narrowed)

    def net(self, demands: Demands) -> Phased:
        """Return what is lacking, week after week, as lots expire, age and die."""
        return phased(demands, self.supplies, items=self.ingredients, planned_alpha=self.alpha)

    def size(self, found: Phased) -> IntArray:
        """Return what to order, [ingredients, weeks], alpha acid as stock of the planned alpha."""
        net = found.net[: self.ingredients].copy()
        net[self.groups[self.ingredients :]] += found.net[self.ingredients :]
        hops = np.flatnonzero(self.kind == HOP)
        strength = self.alpha[hops, None]
        net[hops] = np.ceil((net[hops] + found.alpha_net[hops] / strength) / (1 - WORK_LOSS))
        return sized_many(net, self.sizings)


class BareArithmetic:
    """The same case in bare numpy: gross is counted, and stock taken off it.

    Nothing is rounded, nothing expires or ages, nobody is picky and no order is sized.
    """

    def __init__(self, plan: MadeUpPlan) -> None:
        self._wanted = plan.wanted.astype(float)
        self._parent = plan.bills.parent
        self._component = plan.bills.component
        self._packed = plan.bills.packed.astype(float)[:, None]
        supplies, count = plan.supplies, plan.ingredients
        self._arriving = np.zeros((count, WEEKS))
        np.add.at(self._arriving, (supplies.item, supplies.first), supplies.quantity)

    def gross(self) -> FloatArray:
        """Return what is taken of every ingredient, [ingredients, weeks]."""
        gross = np.zeros_like(self._arriving)
        for start in range(0, len(self._parent), _ROWS_AT_ONCE):
            rows = slice(start, start + _ROWS_AT_ONCE)
            component = self._component[rows]
            needed = self._wanted[self._parent[rows]]
            needed *= self._packed[rows]
            begins = np.flatnonzero(np.diff(component, prepend=-1))
            gross[component[begins]] += np.add.reduceat(needed, begins, axis=0)
        return gross

    def net(self) -> FloatArray:
        """Return what is lacking, [ingredients, weeks]."""
        short = np.cumsum(self.gross() - self._arriving, axis=1)
        lacking = np.maximum.accumulate(np.maximum(short, 0.0), axis=1)
        return np.diff(lacking, axis=1, prepend=0.0)


def made_up_plan(scale: int, *, dice_start: int = 2026) -> MadeUpPlan:
    """Return a plan of so many times 240 kits."""
    dice = np.random.default_rng(dice_start)
    kind = np.tile(np.repeat(np.arange(len(SHARES)), SHARES), scale)
    hops = kind == HOP
    alpha = np.where(hops, dice.uniform(0.03, 0.15, len(kind)).round(3), 0.0)
    wanted = dice.integers(1, 30, (KITS * scale, WEEKS))
    bills, line = _bills(dice, kind, KITS * scale)
    gross = np.zeros(len(kind))
    np.add.at(gross, bills.component, wanted.sum(axis=1)[bills.parent] * bills.packed)
    supplies, receipt = _supplies(dice, gross, alpha, LOTS * scale)
    return MadeUpPlan(
        kind=kind,
        alpha=alpha,
        wanted=wanted,
        bills=bills,
        line=line,
        supplies=supplies,
        receipt=receipt,
        rules=tuple(_rule(at, kind) for at, kind in enumerate(kind.tolist())),
    )


def _bills(dice: np.random.Generator, kind: IntArray, kits: int) -> tuple[Bills, IntArray]:
    """Return bills in which no ingredient stands twice in a kit, and the line of each row."""
    parent = np.repeat(np.arange(kits), LINES)
    line = np.tile(np.arange(LINES), kits)
    component = np.empty((kits, LINES), dtype=np.int64)
    packed = np.empty((kits, LINES), dtype=np.int64)
    for each in range(len(SHARES)):
        columns = [at for at, of in enumerate(BILL) if of == each]
        members = np.flatnonzero(kind == each)
        start = dice.integers(len(members), size=(kits, 1))
        step = dice.integers(1, len(members) // len(columns), size=(kits, 1), endpoint=True)
        component[:, columns] = members[(start + step * np.arange(len(columns))) % len(members)]
        most = _MOST_IN_A_KIT[each]
        packed[:, columns] = dice.integers(most // 10, most, (kits, len(columns))) + 1
    order = np.argsort(component.ravel(), kind="stable")
    bills = Bills(
        parent=parent,
        component=component.ravel(),
        packed=packed.ravel(),
        overage=np.where(np.isin(line, range(9)), 0.01, 0.0),
    )
    return bills.at(order), line[order]


def _supplies(
    dice: np.random.Generator, gross: FloatArray, alpha: FloatArray, lots: int
) -> tuple[Supplies, BoolArray]:
    """Return lots and open orders that hold about as much as is wanted; some expire before."""
    item = np.concatenate(
        (np.arange(len(gross)), dice.integers(len(gross), size=lots - len(gross)))
    )
    quantity = (gross[item] * len(gross) / lots * dice.uniform(0.2, 1.6, lots)).astype(np.int64) + 1
    receipt = dice.random(lots) < 0.2
    first = np.where(receipt, dice.integers(1, WEEKS // 2, lots), 0)
    last = np.where(dice.random(lots) < 0.6, first + dice.integers(2, 2 * WEEKS, lots), KEEPS)
    order = first_expired_first(item, last, first, receipt=receipt)
    item = item[order]
    return Supplies(
        item=item,
        quantity=quantity[order],
        first=first[order],
        last=last[order],
        alpha=np.where(alpha[item] > 0, alpha[item] * dice.uniform(0.9, 1.1, lots), np.nan),
        decay=np.where(alpha[item] > 0, LOST_A_WEEK, 0.0),
    ), receipt[order]


def _rule(at: int, kind: int) -> LotSizing:
    """Return the lot rule of an ingredient: all kinds of rule, one in four with a price break."""
    pack = PACKS[kind]
    breaks = ((1, 100_000), (20, 90_000)) if at % 4 == 0 else ((1, 100_000),)
    rule = (PERIOD, LOT_FOR_LOT, FIXED, MINIMUM, LEAST_COST)[at % 5]
    if rule == LEAST_COST:
        breaks = breaks[:1]
    return LotSizing(
        kind=rule,
        quantity=2 * pack if rule in (FIXED, MINIMUM) else 0,
        period=4 if rule == PERIOD else None,
        pack_quantity=pack,
        breaks=breaks,
        order_cost=50_000 if rule == LEAST_COST else 0,
        holding=100 / pack,
        keeps=None,
    )
