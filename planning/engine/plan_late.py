"""What a plan cannot do in time: kits that are late for their orders, runs that wait for parts.

Nothing that is late is dropped. Each names when it can be done, and runs how many of their kits the
parts that are there in time would make.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from fractions import Fraction
from math import ceil

import numpy as np

from planning.engine.plan import PlanResult
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_making import Level
from planning.engine.plan_pegs import some_of

_NEVER = -1


@dataclass(frozen=True, kw_only=True)
class ShortKits:
    """Kits of one item that a cause waits for: ``ready_on`` is when they can leave; None: never."""

    item: int
    cause: int
    wanted_on: date
    kits: int
    ready_on: date | None
    reason: str


@dataclass(frozen=True, kw_only=True)
class Lacking:
    """What a cause lacks of an item, whole units.

    ``usable_on`` is when it is there; None: never.
    """

    item: int
    quantity: int
    usable_on: date | None


@dataclass(frozen=True, kw_only=True)
class WaitingFor:
    """A cause whose parts come too late, the latest first.

    ``kits`` is all of the run, and ``possible`` those that what is there in time would make.
    """

    cause: int
    lacking: tuple[Lacking, ...]
    kits: int
    possible: int

    @property
    def ready_on(self) -> date | None:
        """The day on which everything is there; None: something never is."""
        days = [row.usable_on for row in self.lacking]
        return None if None in days else max(day for day in days if day)


def short_kits(plan: PlanResult) -> tuple[ShortKits, ...]:
    """Return the kits that are not there on the day they are wanted, by day."""
    if not plan.given.suggest:
        return ()
    found = [row for level in plan.levels for row in _short_on(plan, level)]
    return tuple(sorted(found, key=lambda row: (row.wanted_on, row.item, row.cause)))


def _short_on(plan: PlanResult, level: Level) -> Iterator[ShortKits]:
    given, usable = plan.given, plan.bench.usable
    why = {(late.kit, late.bucket): late.reason for late in level.late}
    made = some_of(level.made, level.made.need >= 0)
    ready = np.full(len(made.need), _NEVER, dtype=np.int64)
    suggested = made.supply >= 0
    ready[suggested] = usable[level.runs.bucket[made.supply[suggested]]]
    late = np.flatnonzero((ready == _NEVER) | (ready > level.wanted.bucket[made.need]))
    totals: dict[tuple[int, int], int] = defaultdict(int)
    rows = zip(
        made.need[late].tolist(), ready[late].tolist(), made.quantity[late].tolist(), strict=True
    )
    for need, on, kits in rows:
        totals[need, on] += kits
    for (need, on), kits in totals.items():
        item, bucket = int(level.wanted.item[need]), int(level.wanted.bucket[need])
        kit = given.kit_of_item[item]
        yield ShortKits(
            item=item,
            cause=int(level.wanted.cause[need]),
            wanted_on=given.day(bucket),
            kits=kits,
            ready_on=None if on == _NEVER else given.day(on),
            reason=_why(plan, kit, why.get((kit, bucket))),
        )


def _why(plan: PlanResult, place: int, told: str | None) -> str:
    kit, today = plan.given.kits[place], plan.given.today
    if not kit.packable:
        return "It is not offered, so that it cannot be packed."
    if kit.last_pack_on is not None and kit.last_pack_on < today:
        return "Its last day of packing has passed."
    if told:
        return told
    if plan.given.house.pack_lead_days:
        return "Kits packed now leave later than that."
    return "It cannot be packed before it is wanted."


def waiting(plan: PlanResult) -> tuple[WaitingFor, ...]:
    """Return the runs and orders for which something would come too late, by their day."""
    late: dict[int, dict[int, _Late]] = defaultdict(dict)
    pegs, needs = plan.buy_pegs, plan.needs
    for need, buy, quantity in zip(
        pegs.need.tolist(), pegs.supply.tolist(), pegs.quantity.tolist(), strict=True
    ):
        order = plan.buys[buy].days if buy >= 0 else None
        if need < 0 or (order is not None and _in_time(plan, need, order.usable_on)):
            continue
        of_cause = late[int(needs.cause[need])]
        row = of_cause.setdefault(int(needs.item[need]), _Late())
        row.add(quantity, None if order is None else order.usable_on)
    return tuple(
        sorted(
            (_waiting(plan, cause, found) for cause, found in late.items()),
            key=lambda row: (plan.causes.of(row.cause).on, row.cause),
        )
    )


def _in_time(plan: PlanResult, need: int, usable_on: date) -> bool:
    """Return whether what is ordered at the next chance is there for a need."""
    return usable_on <= plan.given.day(int(plan.needs.bucket[need]))


@dataclass(kw_only=True)
class _Late:
    """What is late of one item for one cause."""

    quantity: int = 0
    usable_on: date | None = None
    never: bool = False

    def add(self, quantity: int, usable_on: date | None) -> None:
        self.quantity += quantity
        self.never |= usable_on is None
        if usable_on is not None:
            self.usable_on = max(self.usable_on or usable_on, usable_on)


def _waiting(plan: PlanResult, cause: int, late: Mapping[int, _Late]) -> WaitingFor:
    lines = kits_of(plan, cause)
    kits = sum(lines.values())
    lacking = [
        Lacking(item=item, quantity=row.quantity, usable_on=None if row.never else row.usable_on)
        for item, row in late.items()
    ]
    return WaitingFor(
        cause=cause,
        lacking=tuple(sorted(lacking, key=lambda row: (row.usable_on or date.max, row.item))[::-1]),
        kits=kits,
        possible=max(0, kits - _missing(plan, lacking, lines)),
    )


def kits_of(plan: PlanResult, cause: int) -> dict[int, int]:
    """Return the kits that a run packs, or that a customer wants, by make."""
    found: dict[int, int] = defaultdict(int)
    known = plan.causes.of(cause)
    if known.kind is CauseKind.RUN:
        for line in plan.given.run_lines:
            if line.run == cause:
                found[line.make] += line.kits
    elif known.kind is CauseKind.SUGGESTED:
        level, bucket = plan.causes.bucket_of_suggested(cause)
        runs = plan.levels_by_number[level].runs
        that_day = runs.bucket == bucket
        for kit, kits in zip(
            runs.kit[that_day].tolist(), runs.kits[that_day].tolist(), strict=True
        ):
            found[kit] += kits
    else:
        mine = np.flatnonzero((plan.wanted.cause == cause) & (plan.wanted.make >= 0))
        for place in mine.tolist():
            found[int(plan.wanted.make[place])] += int(plan.wanted.quantity[place])
    return dict(found)


def _missing(plan: PlanResult, lacking: Iterable[Lacking], lines: Mapping[int, int]) -> int:
    """Return about how many kits what is lacking would have made, rounded up.

    An item that is lacking holds back as large a share of the kits of every make that takes it; of
    the items that a make lacks, the one that lacks the largest share counts.
    """
    shares: dict[int, Fraction] = defaultdict(Fraction)
    rows = plan.given.rows
    for row in lacking:
        uses = np.isin(rows.make, list(lines)) & (rows.item == row.item)
        makes, packed = rows.make[uses].tolist(), rows.packed[uses].tolist()
        whole = sum(lines[make] * each for make, each in zip(makes, packed, strict=True))
        for make in makes if whole else ():
            shares[make] = max(shares[make], min(Fraction(row.quantity, whole), Fraction(1)))
    return ceil(sum(lines[make] * share for make, share in shares.items()))
