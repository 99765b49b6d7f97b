"""From net kits by day to the runs that the bench can pack in time.

What is short becomes runs of at least the minimum and of whole multiples; what they make too much
serves the days after. A run is packed on its day or, where the bench is full or nobody works, on
the latest day before it that has room for all of it, else in parts, none below the minimum unless
the kits are late otherwise. Existing runs have taken their capacity already. What cannot be packed
in time is packed as soon as it can be, and is named with the reason.

Parts run down to zero: after the last day of packing there is no run, the run on it covers all
that is still sold, and the last run of a kit whose sale ends within the plan makes exactly what is
still wanted.

>>> made = suggested_runs(
...     np.array([[0, 0, 12, 9]]), [RunRule(minimum=10)], works=np.array([True] * 4),
...     capacity=np.array([8, 8, 8, 8]),
... )
>>> [(run.bucket, run.kits) for run in made.runs]
[(1, 6), (2, 8), (3, 8)]
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from planning.engine.suggestions import IntArray, LateKits, RunColumns, Runs, SuggestedRun

BoolArray = NDArray[np.bool_]
_UNLIMITED = 1 << 60
_WAYS = ((True, True), (False, True), (False, False))
"""Whether a run is kept whole where it can be, and whether its parts keep the minimum."""


@dataclass(frozen=True, kw_only=True)
class RunRule:
    """How a kit is packed. Buckets are days counted from 0, which is today.

    Attributes
    ----------
    minimum, multiple: kits of a run.
    first, last: the first and the last bucket on which it may be packed; a last one below 0 is
        over, None: it does not end.
    last_sale: the last bucket on which it is sold; what is wanted later does not count.
    """

    minimum: int = 1
    multiple: int = 1
    first: int = 0
    last: int | None = None
    last_sale: int | None = None

    def __post_init__(self) -> None:
        if self.minimum < 0 or self.multiple < 1:
            msg = "a run is of a minimum and of a multiple of kits, and both are whole"
            raise ValueError(msg)

    def ends(self, days: int) -> bool:
        """Return whether all that will ever be sold of the kit is known within so many days."""
        end = self.last if self.last_sale is None else self.last_sale
        return end is not None and end < days


def suggested_runs(
    net: IntArray,
    rules: Sequence[RunRule],
    *,
    works: BoolArray,
    capacity: IntArray | None = None,
) -> Runs:
    """Return the runs that make net kits.

    Parameters
    ----------
    net: [kits, days] whole kits that are short, by the day by which they must be packed. Of two
        kits that compete for the bench on one day, the earlier row is served first.
    works: [days] whether the house packs on that day.
    capacity: [days] kits that the bench can still pack; None: no limit.

    Raises
    ------
    ValueError: net kits or capacity below zero.
    """
    if (net < 0).any() or (capacity is not None and (capacity < 0).any()):
        msg = "net kits and capacity cannot be less than zero"
        raise ValueError(msg)
    if capacity is None:
        free = _unhindered(net, rules, works)
        if free.any():
            return _with_all_of(net, free, _levelled(np.where(free[:, None], 0, net), rules, works))
    return _levelled(net, rules, works, capacity)


def _unhindered(net: IntArray, rules: Sequence[RunRule], works: BoolArray) -> BoolArray:
    """Return which kits are packed as they are wanted: nothing rounds or moves their runs."""
    plain = [
        rule.minimum <= 1 and rule.multiple == 1 and rule.last is None and rule.last_sale is None
        for rule in rules
    ]
    first = np.array([rule.first for rule in rules], dtype=np.int64)
    found: BoolArray = np.array(plain, dtype=bool) & ~net[:, ~works].any(axis=1)
    return found & (np.where(net.any(axis=1), (net > 0).argmax(axis=1), first) >= first)


def _with_all_of(net: IntArray, free: BoolArray, rest: Runs) -> Runs:
    """Return runs with those of the kits that are packed as they are wanted."""
    mine = np.where(free[:, None], net, 0)
    bucket, kit = np.nonzero(mine.T)
    columns = RunColumns(kit=kit, bucket=bucket, kits=mine[kit, bucket], needed=bucket, reasons={})
    if len(rest.columns):
        runs = sorted((*columns.rows, *rest.runs), key=lambda run: (run.bucket, run.kit))
        columns = RunColumns.of(runs)
    return Runs(columns=columns, late=rest.late, packed=mine.sum(axis=0) + rest.packed)


def _levelled(
    net: IntArray,
    rules: Sequence[RunRule],
    works: BoolArray,
    capacity: IntArray | None = None,
) -> Runs:
    days = net.shape[1]
    room = np.full(days, _UNLIMITED) if capacity is None else capacity
    room = np.where(works, room, 0).tolist()
    wanted = sorted(_wanted(net, rules), key=lambda lot: (lot.due, lot.needed, lot.kit))
    tried = []
    for whole, minimum in _WAYS:
        tried.append(_Bench(room, whole=whole, minimum=minimum).packed(wanted))
        if not tried[-1].late:
            break
    return min(tried, key=_behind)


def _behind(made: Runs) -> tuple[int, int]:
    """Return how many kits are late, and how many of those are never packed."""
    never = sum(late.kits for late in made.late if late.made_on is None)
    return sum(late.kits for late in made.late), never


@dataclass(frozen=True, kw_only=True)
class _Lot:
    """Kits that are wanted together, packed between two buckets."""

    kit: int
    kits: int
    needed: int
    first: int
    due: int
    last: int
    rule: RunRule
    reasons: tuple[str, ...]


def _wanted(net: IntArray, rules: Sequence[RunRule]) -> Iterator[_Lot]:
    """Yield what each kit is made in: the minimum, the multiple, the last run in one."""
    days = net.shape[1]
    for kit, entries in groupby(np.argwhere(net).tolist(), key=lambda entry: entry[0]):
        rule = rules[kit]
        last_sale = days if rule.last_sale is None else rule.last_sale
        sold = [(day, int(net[kit, day])) for _, day in entries if day <= last_sale]
        yield from _lots(kit, rule, sold, days)


def _lots(kit: int, rule: RunRule, sold: Sequence[tuple[int, int]], days: int) -> Iterator[_Lot]:
    surplus = 0
    last = days - 1 if rule.last is None else min(rule.last, days - 1)
    # from the last day of packing on, one run covers all
    groups = groupby(sold, key=lambda entry: min(entry[0], max(last, -1)))
    left = sum(kits for _, kits in sold)
    for due, group in groups:
        entries = list(group)
        wanted = sum(kits for _, kits in entries)
        short, still = wanted - surplus, left - surplus
        left -= wanted
        if short <= 0:
            surplus = -short
            continue
        final = rule.ends(days) and still <= _rounded(short, rule)
        kits = still if final else _rounded(short, rule)
        surplus = kits - short
        yield _Lot(
            kit=kit,
            kits=kits,
            needed=entries[0][0],
            first=max(0, rule.first),
            due=due,
            last=last,
            rule=rule,
            reasons=tuple(_size_reasons(short, kits, rule, final=final)),
        )


def _rounded(kits: int, rule: RunRule) -> int:
    return -(-max(kits, rule.minimum) // rule.multiple) * rule.multiple


def _size_reasons(short: int, kits: int, rule: RunRule, *, final: bool) -> Iterator[str]:
    if final and _rounded(short, rule) > kits:
        yield (
            f"The last run makes exactly the {kits} kits that are still wanted, and not "
            f"{_rounded(short, rule)}."
        )
        return
    least = max(short, rule.minimum)
    if kits > short and least > short:
        yield f"Raised from {short} to {least} kits, the smallest run."
    if kits > least:
        yield f"Raised from {least} to {kits} kits, a multiple of {rule.multiple}."


class _Bench:
    """The kits that can still be packed on each day, filled up lot by lot."""

    def __init__(self, room: Sequence[int], *, whole: bool, minimum: bool) -> None:
        self.room = list(room)
        self.packs = [0] * len(room)
        self.whole, self.minimum = whole, minimum
        self.widest = max(self.room, default=0)
        self.runs: list[SuggestedRun] = []
        self.late: list[LateKits] = []

    def packed(self, wanted: Sequence[_Lot]) -> Runs:
        """Return the runs of all lots: first all that can be in time, then the rest."""
        left = [(lot, self._in_time(lot)) for lot in wanted]
        for lot, kits in left:
            if kits:
                self._late(lot, kits)
        self.late.sort(key=lambda late: (late.bucket, late.kit))
        return Runs(
            columns=RunColumns.of(_joined(self.runs)),
            late=tuple(self.late),
            packed=np.array(self.packs, dtype=np.int64),
        )

    def _in_time(self, lot: _Lot) -> int:
        """Pack a lot by its day, latest day first, and return how many kits are left."""
        days = range(lot.due, lot.first - 1, -1)
        if self.whole:
            for day in days:
                if self.room[day] >= lot.kits:
                    self._pack(lot, day, lot.kits)
                    return 0
        return self._in_parts(lot, lot.kits, days)

    def _in_parts(self, lot: _Lot, kits: int, days: Sequence[int]) -> int:
        for day in days:
            part = self._part(lot, kits, self.room[day])
            if part:
                self._pack(lot, day, part)
                kits -= part
                if not kits:
                    break
        return kits

    def _part(self, lot: _Lot, kits: int, room: int) -> int:
        """Return how many of the kits to pack on a day, so that no part is below the minimum."""
        if room >= kits:
            return kits
        least = lot.rule.minimum if self.minimum else 1
        multiple = lot.rule.multiple if lot.rule.multiple <= self.widest else 1
        room = min(room, kits - least)
        part = room // multiple * multiple
        return part if part >= max(1, least) else 0

    def _late(self, lot: _Lot, kits: int) -> None:
        """Pack what is left as soon as there is room for it, and name it."""
        before = len(self.runs)
        start = max(lot.first, lot.due + 1)
        days = range(start, min(lot.last + 1, len(self.room)))
        left = self._in_parts(lot, kits, days)
        reason = self._why(lot)
        for run in self.runs[before:]:
            self._name(lot, run.kits, run.bucket, reason)
        if left:
            self._name(lot, left, None, self._why_never(lot, reason))

    def _name(self, lot: _Lot, kits: int, made_on: int | None, reason: str) -> None:
        late = LateKits(kit=lot.kit, bucket=lot.needed, kits=kits, made_on=made_on, reason=reason)
        self.late.append(late)

    def _why(self, lot: _Lot) -> str:
        if lot.first > lot.due:
            return "It is needed before the first day on which it is packed."
        if not any(self.room[day] or self.packs[day] for day in range(lot.first, lot.due + 1)):
            return "Nothing can be packed before it is needed: the bench is full or nobody works."
        return "The bench is full before it is needed."

    def _why_never(self, lot: _Lot, reason: str) -> str:
        if lot.last < lot.first:
            return "Its last day of packing has passed."
        if lot.rule.last is not None:
            return f"{reason} It is not packed after its last day of packing."
        return f"{reason} There is no room for it within the plan."

    def _pack(self, lot: _Lot, day: int, kits: int) -> None:
        self.room[day] -= kits
        self.packs[day] += kits
        reasons = list(lot.reasons)
        if kits < lot.kits:
            reasons.append(f"Packed in parts: {kits} of {lot.kits} kits, as many as the bench can.")
        if day < lot.due:
            reasons.append("Packed earlier: its own day has no room for it.")
        self.runs.append(
            SuggestedRun(
                kit=lot.kit, bucket=day, kits=kits, needed=lot.needed, reasons=tuple(reasons)
            )
        )


def _joined(runs: Sequence[SuggestedRun]) -> tuple[SuggestedRun, ...]:
    """Return runs by day and kit, those of one kit on one day as one run."""
    found: dict[tuple[int, int], SuggestedRun] = {}
    for run in sorted(runs, key=lambda run: (run.bucket, run.kit, run.needed)):
        place = (run.bucket, run.kit)
        there = found.get(place)
        found[place] = (
            run
            if there is None
            else replace(
                there,
                kits=there.kits + run.kits,
                reasons=tuple(dict.fromkeys((*there.reasons, *run.reasons))),
            )
        )
    return tuple(found.values())
