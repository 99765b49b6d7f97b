"""Which kits to make: demand netted level by level, runs suggested, and what they take of parts.

What is sold is planned first, then the kits that go into those, and so on. On each level what is
wanted is served from finished kits and open runs, and what is net becomes suggested runs. Kits that
nobody has asked for yet are taken to leave on the day they are packed, the earliest, so that what
is added at dispatch is there for them.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from planning.engine import explosion
from planning.engine.capacity import RunRule, suggested_runs
from planning.engine.pegging import Pegs
from planning.engine.plan_causes import Causes
from planning.engine.plan_input import BoolArray, IntArray, PlanInput
from planning.engine.plan_netting import Netting, netted
from planning.engine.plan_parts import Bills, Needs, Packed, summed
from planning.engine.plan_pegs import renamed, served_in_order, some_of
from planning.engine.plan_supplies import SupplyTable
from planning.engine.plan_wanted import Wanted, joined
from planning.engine.suggestions import LateKits, RunColumns, Runs

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
    runs: RunColumns
    late: tuple[LateKits, ...]

    def run_pegs(self) -> Iterator[tuple[int, int, int]]:
        """Yield what suggested runs are for: run, cause and kits, by run and cause."""
        asked = some_of(self.made, (self.made.need >= 0) & (self.made.supply >= 0))
        cause = self.wanted.cause[asked.need]
        width = int(cause.max(initial=0)) + 1
        each, at = np.unique(asked.supply * width + cause, return_inverse=True)
        kits = np.zeros(len(each), dtype=np.int64)
        np.add.at(kits, at, asked.quantity)
        run, cause = np.divmod(each, width)
        yield from zip(run.tolist(), cause.tolist(), kits.tolist(), strict=True)


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
            self.room = np.maximum(self.room - runs.packed, 0)


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
        lines = [line for line in given.run_lines if not line.allotted]
        taken = [(line.make, day[line.run], line.kits, line.run) for line in lines]
        self._take(Packed.of(taken), dispatch=False)

    def _take(self, kits: Packed, *, dispatch: bool) -> None:
        """Note what kits that are packed, or that leave, take within the plan."""
        inside = kits.at(kits.bucket < self.given.buckets)
        self.parts.append(self.bills.needs(inside, dispatch=dispatch))

    def level(self, level: int, items: IntArray, customers: Wanted) -> None:
        """Plan the kits of one level."""
        given = self.given
        wanted = _in_order(joined(customers, self._within(items)))
        netting = netted(given, _as_needs(wanted), self.table, items)
        runs = self._runs(items, netting)
        self.bench.fill(runs)
        made = _made(given, wanted, netting.pegs, runs.columns)
        found = Level(
            level=level,
            wanted=wanted,
            items=items,
            pegs=netting.pegs,
            made=made,
            runs=runs.columns,
            late=runs.late,
        )
        self.levels.append(found)
        every = np.arange(len(found.runs))
        self._take(self._suggested(found, every, found.runs.kits), dispatch=False)
        for leaving in self._leaving(found):
            self._take(leaving, dispatch=True)

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
            by = np.searchsorted(bench.usable, np.arange(given.buckets), side="right") - 1
            short = np.zeros((given.buckets, len(items)), dtype=np.int64)
            np.add.at(short, np.maximum(by, 0), (netting.net[items] + netting.safety[items]).T)
            net[[given.kit_of_item[item] for item in items.tolist()]] = short.T
        return suggested_runs(net, self._rules(), works=bench.works, capacity=bench.room)

    def _rules(self) -> list[RunRule]:
        return [run_rule(self.given, self.bench, kit) for kit in range(len(self.given.kits))]

    def _suggested(self, level: Level, places: IntArray, kits: IntArray) -> Packed:
        """Return kits of suggested runs on their pack days, each for its run."""
        bucket = level.runs.bucket[places]
        return Packed(
            make=level.runs.kit[places],
            bucket=bucket,
            kits=kits,
            cause=self.causes.suggested_on(level.level, bucket),
        )

    def _leaving(self, level: Level) -> Iterator[Packed]:
        """Yield the boxes that leave: those that are wanted, and those that nobody asked for."""
        yield _wanted_boxes(level, self.bench)
        yield self._spare_of_open_runs(level)
        spare = level.made.need < 0
        found = self._suggested(level, level.made.supply[spare], level.made.quantity[spare])
        yield replace(found, bucket=self.bench.usable[found.bucket])

    def _spare_of_open_runs(self, level: Level) -> Packed:
        """Return the kits of open runs that nobody has asked for yet."""
        given, table = self.given, self.table
        first = table.lots + table.orders
        taken = np.zeros(len(table), dtype=np.int64)
        used = level.pegs.supply >= 0
        np.add.at(taken, level.pegs.supply[used], level.pegs.quantity[used])
        items = set(level.items.tolist())
        return Packed.of(
            [
                (line.make, int(table.first[place]), line.kits - int(taken[place]), line.run)
                for place, line in enumerate(given.run_lines, start=first)
                if line.kits > taken[place] and given.kits[given.make_kit[line.make]].item in items
            ]
        )


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


def _made(given: PlanInput, wanted: Wanted, pegs: Pegs, runs: RunColumns) -> Pegs:
    """Return which suggested run serves what nothing else does."""
    net = np.flatnonzero(pegs.supply < 0)
    entry = pegs.need[net]
    kit_of = np.zeros(len(given.items), dtype=np.int64)
    for place, known in enumerate(given.kits):
        kit_of[known.item] = place
    kit = kit_of[wanted.item[entry]]
    order = np.lexsort((wanted.bucket[entry], kit))
    by_kit = np.argsort(runs.kit, kind="stable")
    found = served_in_order(
        kit[order], pegs.quantity[net][order], runs.kit[by_kit], runs.kits[by_kit]
    )
    return Pegs(
        need=renamed(found.need, entry[order]),
        supply=renamed(found.supply, by_kit),
        quantity=found.quantity,
    )


def _wanted_boxes(level: Level, bench: Bench) -> Packed:
    """Return the boxes that customers want, each when it can leave."""
    wanted, served = level.wanted, some_of(level.pegs, level.pegs.supply >= 0)
    made = some_of(level.made, (level.made.need >= 0) & (level.made.supply >= 0))
    ready = bench.usable[level.runs.bucket[made.supply]]
    entry = np.concatenate((served.need, made.need))
    packed = Packed(
        make=wanted.make[entry],
        bucket=np.maximum(
            wanted.bucket[entry], np.concatenate((np.zeros_like(served.need), ready))
        ),
        kits=np.concatenate((served.quantity, made.quantity)),
        cause=wanted.cause[entry],
    )
    return packed.at(packed.make >= 0)
