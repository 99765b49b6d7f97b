"""What can still be done about something that should have been ordered before today.

Release what waits in quarantine, order from a supplier who is in time, take an approved substitute,
pack fewer kits, ask for faster delivery, or pack on a later day: each with what it comes to.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.figures import on_date
from boxwort.quantities import Measure, read_naturally
from planning.engine.usage import kits_held


@dataclass(frozen=True, kw_only=True)
class Source:
    """A supplier, and the day from which what is ordered there now could be used."""

    name: str
    usable_on: date


@dataclass(frozen=True, kw_only=True)
class StandIn:
    """An approved substitute: how much of what is short it can stand for, in that item's units."""

    name: str
    stands_for: int


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """What is short, and what there is to help. Quantities are whole units of stock.

    Attributes
    ----------
    need_by: the day on which it must be usable; ``short``: how much of it is missing then.
    usable: what the run can use of it then; ``quarantine``: what still waits to be released.
    runs: the codes of the runs that wait for it; none: only the safety stock does.
    kits: of the first of these runs; ``per_kits``: what one kit takes in each line of its bill,
        with ``overage`` as a share.
    ordered: the supplier of the plan; ``others``: those who offer it too.
    """

    need_by: date
    short: int
    measure: Measure
    ordered: Source
    usable: int = 0
    quarantine: int = 0
    runs: Sequence[str] = ()
    kits: int = 0
    per_kits: Sequence[int] = ()
    overage: float = 0.0
    others: Sequence[Source] = ()
    stand_ins: Sequence[StandIn] = ()


@dataclass(frozen=True, kw_only=True)
class WaysOut:
    """What can still be done.

    Attributes
    ----------
    released: what the release of quarantine adds of what is short; the rest is still missing.
    in_time: other suppliers who deliver in time, the soonest first.
    stand_ins: approved substitutes that can stand for all that is short.
    kits_now: kits of the first run that can be packed with what there is; None: not a question.
    days_faster: by how many days the supplier of the plan is too late.
    later_on: the first day on which it can be used, from whoever is soonest.
    """

    released: int
    in_time: tuple[Source, ...]
    stand_ins: tuple[StandIn, ...]
    kits_now: int | None
    days_faster: int
    later_on: date


def ways_out(shortage: Shortage) -> WaysOut:
    """Return what can still be done about a shortage.

    >>> found = ways_out(
    ...     Shortage(
    ...         need_by=date(2026, 12, 4), short=5_000, measure=Measure.MASS, usable=52_000,
    ...         runs=("RUN-7",), kits=30, per_kits=(1_900,),
    ...         ordered=Source(name="Ebberly Malt", usable_on=date(2026, 12, 9)),
    ...         others=(Source(name="Stonecroft", usable_on=date(2026, 12, 3)),),
    ...     )
    ... )
    >>> found.kits_now, found.days_faster, [source.name for source in found.in_time]
    (27, 5, ['Stonecroft'])
    """
    others = sorted(shortage.others, key=lambda source: (source.usable_on, source.name))
    days_late = (shortage.ordered.usable_on - shortage.need_by).days
    return WaysOut(
        released=min(shortage.quarantine, shortage.short),
        in_time=tuple(source for source in others if source.usable_on <= shortage.need_by),
        stand_ins=tuple(
            stand_in
            for stand_in in sorted(shortage.stand_ins, key=lambda each: each.name)
            if stand_in.stands_for >= shortage.short
        ),
        kits_now=_kits_now(shortage),
        days_faster=max(0, days_late),
        later_on=min(source.usable_on for source in (shortage.ordered, *others)),
    )


def advice(shortage: Shortage, ways: WaysOut) -> Iterator[str]:
    """Yield the same in plain words, what costs the least trouble first."""
    if not shortage.runs:
        yield "No run waits for it: only the safety stock is touched until it arrives."
    if shortage.quarantine:
        waiting = read_naturally(shortage.quarantine, shortage.measure)
        enough = "" if ways.released >= shortage.short else " It is not all that is missing."
        yield f"{waiting} waits in quarantine: release it if its certificate is good.{enough}"
    for source in ways.in_time:
        yield f"{source.name} can deliver in time, for {on_date(source.usable_on)}: order it there."
    for stand_in in ways.stand_ins:
        yield f"{stand_in.name} is approved in its place, and there is enough of it."
    if shortage.runs:
        yield from _of_the_runs(shortage, ways)


def _of_the_runs(shortage: Shortage, ways: WaysOut) -> Iterator[str]:
    first, listed = shortage.runs[0], ", ".join(shortage.runs)
    if ways.kits_now:
        yield f"Pack {ways.kits_now} of the {shortage.kits} kits of {first} now."
    if ways.days_faster:
        days = "a day" if ways.days_faster == 1 else f"{ways.days_faster} days"
        yield f"Ask {shortage.ordered.name} for delivery {days} faster."
    if ways.later_on > shortage.need_by:
        yield f"Move {listed} to {on_date(ways.later_on)} or later."


def _kits_now(shortage: Shortage) -> int | None:
    """Return how many kits of the first run what is usable holds, if that is fewer than all."""
    held = kits_held(shortage.usable, shortage.per_kits, shortage.overage)
    if not shortage.runs or held is None or held >= shortage.kits:
        return None
    return held
