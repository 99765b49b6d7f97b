"""Which kits to make: demand netted level by level, runs suggested, and what they take of parts.

What is sold is planned first, then the kits that go into those, and so on. On each level what is
wanted is served from finished kits and open runs, and what is net becomes suggested runs. Kits that
nobody has asked for yet are taken to leave on the day they are packed, the earliest, so that what
is added at dispatch is there for them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field

import numpy as np

from planning.engine import explosion
from planning.engine.capacity import LateKits, RunRule, Runs, SuggestedRun, suggested_runs
from planning.engine.pegging import Pegs
from planning.engine.plan_causes import Causes
from planning.engine.plan_input import BoolArray, IntArray, PlanInput
from planning.engine.plan_netting import Netting, netted
from planning.engine.plan_parts import Bills, Needs, summed
from planning.engine.plan_pegs import renamed, served_in_order, some_of
from planning.engine.plan_supplies import SupplyTable
from planning.engine.plan_wanted import Wanted, joined

NO_PITCH = -1


@dataclass(frozen=True, kw_only=True, eq=False)
class Level:
    """The kits of one level: what is wanted of them, and what serves it.

    Attributes
    ----------
    wanted: entries in the order in which they are served.
    items: the kits' items.
    pegs: of entries to the supplies of the table; -1: net. ``made``: of those to the suggested
        ``runs``; -1: nothing serves it within the plan.
    runs, late: as :func:`planning.engine.capacity.suggested_runs` has them, by place of the kit.
    """

    level: int
    wanted: Wanted
    items: IntArray
    pegs: Pegs
    made: Pegs
    runs: tuple[SuggestedRun, ...]
    late: tuple[LateKits, ...]


@dataclass(frozen=True, kw_only=True, eq=False)
class Making:
    """All levels, and everything that is needed of what is bought."""

    levels: tuple[Level, ...]
    needs: Needs


@dataclass(kw_only=True)
class Bench:
    """The days on which the house packs, and how many kits it can still pack on each."""

    given: PlanInput
    works: BoolArray = field(init=False)
    usable: IntArray = field(init=False)
    room: IntArray | None = field(init=False)

    def __post_init__(self) -> None:
        given, lead = self.given, self.given.house.pack_lead_days
        days = [given.day(bucket) for bucket in range(given.buckets)]
        self.works = np.array([given.calendar.works(day) for day in days], dtype=bool)
        leaves = [given.calendar.shifted(day, lead) if lead else day for day in days]
        self.usable = np.array([given.bucket(day) for day in leaves], dtype=np.int64)
        self.room = self._room()

    def _room(self) -> IntArray | None:
        given = self.given
        if given.house.kits_per_day is None:
            return None
        room = np.full(given.buckets, given.house.kits_per_day, dtype=np.int64)
        for line in given.run_lines:
            bucket = given.bucket(given.runs[line.run].pack_on)
            if bucket < given.buckets:
                room[bucket] -= line.kits
        return np.maximum(room, 0)

    def pack_by(self, bucket: int) -> int:
        """Return the last bucket in which to pack what is to leave in one; -1: too late."""
        return int(np.searchsorted(self.usable, bucket, side="right")) - 1

    def fill(self, runs: Runs) -> None:
        """Take the room of runs that are suggested."""
        if self.room is not None:
            self.room = np.maximum(self.room - np.array(runs.packed, dtype=np.int64), 0)


def kits_made(
    given: PlanInput, causes: Causes, wanted: Wanted, table: SupplyTable, bench: Bench
) -> Making:
    """Return the runs to make for what customers want, and what they and the open runs take."""
    maker = _Maker(given, causes, table, bench)
    is_kit = np.isin(wanted.item, [kit.item for kit in given.kits])
    maker.parts.append(_as_needs(wanted.at(~is_kit)))
    maker.open_runs()
    for level, items in _levels(given):
        maker.level(level, items, wanted.at(is_kit & np.isin(wanted.item, items)))
    needs = summed(maker.parts)
    bought = ~np.isin(needs.item, [kit.item for kit in given.kits])
    return Making(levels=tuple(maker.levels), needs=needs.at(bought))


def _levels(given: PlanInput) -> Iterator[tuple[int, IntArray]]:
    """Yield the items of the kits of each level, those that are sold alone first."""
    if not given.kits:
        return
    kit_items = np.array([kit.item for kit in given.kits], dtype=np.int64)
    rows = given.rows
    within = np.isin(rows.item, kit_items)
    bills = explosion.Bills(
        parent=kit_items[given.make_kit[rows.make[within]]],
        component=rows.item[within],
        packed=rows.packed[within],
        overage=rows.overage[within],
    )
    names = [item.name for item in given.items]
    codes = explosion.low_level_codes(len(given.items), bills, names)[kit_items]
    for level in np.unique(codes):
        yield int(level), kit_items[codes == level]


def _as_needs(wanted: Wanted) -> Needs:
    """Return entries of what is wanted as needs."""
    nothing = np.zeros(len(wanted), dtype=np.int64)
    return Needs(
        item=wanted.item,
        bucket=wanted.bucket,
        cause=wanted.cause,
        quantity=wanted.quantity,
        alpha=nothing,
        pitch=nothing + NO_PITCH,
    )


class _Maker:
    """The levels as they are planned, one after another, and the needs that they lead to."""

    def __init__(self, given: PlanInput, causes: Causes, table: SupplyTable, bench: Bench) -> None:
        self.given, self.causes, self.table, self.bench = given, causes, table, bench
        self.bills = Bills(given.rows, len(given.make_kit))
        self.parts: list[Needs] = []
        self.levels: list[Level] = []

    def open_runs(self) -> None:
        """Note what the open runs still take: their allotted lots, or their bills."""
        given = self.given
        day = [given.bucket(run.pack_on) for run in given.runs]
        rows = [(row.item, day[row.run], row.run, row.quantity, 0, -1) for row in given.allotted]
        self.parts.append(Needs.of([row for row in rows if row[1] < given.buckets]))
        lines = [(day[line.run], line) for line in given.run_lines if not line.allotted]
        self._take(
            [(line.make, bucket, line.kits, line.run) for bucket, line in lines], dispatch=False
        )

    def _take(self, rows: Sequence[tuple[int, int, int, int]], *, dispatch: bool) -> None:
        """Note the parts of makes by bucket, kits and cause."""
        columns = np.array(rows, dtype=np.int64).reshape(-1, 4)
        make, bucket, kits, cause = columns[columns[:, 1] < self.given.buckets].T.copy()
        self.parts.append(
            self.bills.needs(dispatch=dispatch, make=make, bucket=bucket, kits=kits, cause=cause)
        )

    def level(self, level: int, items: IntArray, customers: Wanted) -> None:
        """Plan the kits of one level."""
        given = self.given
        wanted = _in_order(joined(customers, self._within(items)))
        netting = netted(given, _as_needs(wanted), self.table, items)
        runs = self._runs(items, netting)
        self.bench.fill(runs)
        made = _made(given, wanted, netting.pegs, runs.runs)
        found = Level(
            level=level,
            wanted=wanted,
            items=items,
            pegs=netting.pegs,
            made=made,
            runs=runs.runs,
            late=runs.late,
        )
        self.levels.append(found)
        self._take(
            [
                (run.kit, run.bucket, run.kits, self.causes.of_suggested(level, run.bucket))
                for run in runs.runs
            ],
            dispatch=False,
        )
        self._take(list(self._leaving(found)), dispatch=True)

    def _within(self, items: IntArray) -> Wanted:
        """Return what is wanted of kits that go into others."""
        needs = summed(self.parts)
        needs = needs.at(np.isin(needs.item, items))
        return Wanted(
            item=needs.item,
            bucket=needs.bucket,
            quantity=needs.quantity,
            cause=needs.cause,
            make=np.full(len(needs), -1),
        )

    def _runs(self, items: IntArray, netting: Netting) -> Runs:
        given, bench = self.given, self.bench
        net = np.zeros((len(given.kits), given.buckets), dtype=np.int64)
        if given.suggest:
            by = np.array([bench.pack_by(bucket) for bucket in range(given.buckets)])
            rows = netting.net + netting.safety
            for item in items.tolist():
                np.add.at(net[given.kit_of_item[item]], np.maximum(by, 0), rows[item])
        return suggested_runs(net, self._rules(), works=bench.works, capacity=bench.room)

    def _rules(self) -> list[RunRule]:
        return [run_rule(self.given, self.bench, kit) for kit in range(len(self.given.kits))]

    def _leaving(self, level: Level) -> Iterator[tuple[int, int, int, int]]:
        """Yield make, bucket, kits and cause of boxes that leave, customers' first."""
        wanted = level.wanted
        leaves = _leaving_on(level, self.bench)
        for entry, bucket, kits in leaves:
            if wanted.make[entry] >= 0:
                yield int(wanted.make[entry]), bucket, kits, int(wanted.cause[entry])
        yield from self._beyond_demand(level)

    def _beyond_demand(self, level: Level) -> Iterator[tuple[int, int, int, int]]:
        """Yield the kits of runs that nobody has asked for yet."""
        given, table = self.given, self.table
        first = table.lots + table.orders
        taken = np.zeros(len(table), dtype=np.int64)
        used = level.pegs.supply >= 0
        np.add.at(taken, level.pegs.supply[used], level.pegs.quantity[used])
        items = set(level.items.tolist())
        for place, line in enumerate(given.run_lines):
            left = line.kits - int(taken[first + place])
            if left and given.kits[given.make_kit[line.make]].item in items:
                yield line.make, int(table.first[first + place]), left, line.run
        spare = level.made.need < 0
        for run, kits in zip(level.made.supply[spare], level.made.quantity[spare], strict=True):
            suggested = level.runs[run]
            bucket = int(self.bench.usable[suggested.bucket])
            cause = self.causes.of_suggested(level.level, suggested.bucket)
            yield suggested.kit, bucket, int(kits), cause


def run_rule(given: PlanInput, bench: Bench, place: int) -> RunRule:
    """Return how a kit's runs are made, in buckets."""
    kit = given.kits[place]

    def bucket(day: object) -> int | None:
        return None if day is None else (day - given.today).days  # type: ignore[operator]

    last, sale = bucket(kit.last_pack_on), bucket(kit.last_sale_on)
    if sale is not None:
        sale = bench.pack_by(min(sale, given.buckets - 1)) if sale >= 0 else -1
    return RunRule(
        minimum=kit.minimum,
        multiple=kit.multiple,
        first=max(0, bucket(kit.first_pack_on) or 0),
        last=last if kit.packable else -1,
        last_sale=sale,
    )


def _in_order(wanted: Wanted) -> Wanted:
    """Return entries by item, day, and what comes first on a day."""
    return wanted.at(np.lexsort((wanted.cause, wanted.bucket, wanted.item)))


def _made(given: PlanInput, wanted: Wanted, pegs: Pegs, runs: Sequence[SuggestedRun]) -> Pegs:
    """Return which suggested run serves what nothing else does."""
    net = np.flatnonzero(pegs.supply < 0)
    entry = pegs.need[net]
    kit = np.array([given.kit_of_item[item] for item in wanted.item[entry].tolist()], dtype=int)
    order = np.lexsort((wanted.bucket[entry], kit))
    made_of = np.array([run.kit for run in runs], dtype=np.int64)
    by_kit = np.argsort(made_of, kind="stable")
    found = served_in_order(
        kit[order],
        pegs.quantity[net][order],
        made_of[by_kit],
        np.array([runs[at].kits for at in by_kit], dtype=np.int64),
    )
    return Pegs(
        need=renamed(found.need, entry[order]),
        supply=renamed(found.supply, by_kit),
        quantity=found.quantity,
    )


def _leaving_on(level: Level, bench: Bench) -> Iterator[tuple[int, int, int]]:
    """Yield entry, bucket and kits of what leaves: on its day, or when it is made."""
    served = some_of(level.pegs, level.pegs.supply >= 0)
    for need, kits in zip(served.need.tolist(), served.quantity.tolist(), strict=True):
        yield need, int(level.wanted.bucket[need]), kits
    made = some_of(level.made, level.made.need >= 0)
    rows = zip(made.need.tolist(), made.supply.tolist(), made.quantity.tolist(), strict=True)
    for need, run, kits in rows:
        if run >= 0:
            made_in = int(bench.usable[level.runs[run].bucket])
            yield need, max(int(level.wanted.bucket[need]), made_in), kits
