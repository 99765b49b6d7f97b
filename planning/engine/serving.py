"""Lots for a horizon, one run line after another: the greedy answer, and first expired literally.

Both take the lines in the order in which they are served. The greedy one cuts each line by
:func:`planning.engine.allotment.stretches_of`. Taking first expired first out literally changes
lot whenever one runs out, however few kits that leaves for a batch; it is there to compare with.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from planning.engine.allotment import stretches_of
from planning.engine.cutting import Stretch, oldest_within_limits
from planning.engine.horizon import (
    Answer,
    DivisibleStock,
    Horizon,
    PackLine,
    kits_of,
    left_after,
    taken_by,
)
from planning.engine.kit_sheet import BoundLot

_Lots = Mapping[str, Sequence[BoundLot]]
_Cut = Callable[[PackLine, _Lots, int], Sequence[Stretch]]


def greedy(
    horizon: Horizon,
    wanted: Mapping[int, int] | None = None,
    shares: Mapping[int, Mapping[int, int]] | None = None,
) -> Answer:
    """Return the greedy answer.

    By line: at most the kits ``wanted``, and of each lot at most its ``shares``, where given.
    """
    return _served(horizon, _few_batches, wanted or {}, shares or {})


def by_promised_day(horizon: Horizon) -> Answer:
    """Return the answer that serves what is promised day by day, and then all that is wanted.

    A line that waits for an early order does not take what a later one needs for the next.
    """
    answer: Answer = {line.line: () for line in horizon.lines}
    wanted = dict.fromkeys(answer, 0)
    for day in horizon.promised:
        for line in horizon.lines:
            wanted[line.line] = min(wanted[line.line] + line.firm.get(day, 0), line.kits)
        answer = topped_up(horizon, answer, wanted)
    return topped_up(horizon, answer)


def topped_up(horizon: Horizon, answer: Answer, wanted: Mapping[int, int] | None = None) -> Answer:
    """Return an answer whose lines that lack kits were served again with what is left by all.

    By line: at most the kits ``wanted``, where given.
    """
    left = left_after(horizon, answer)
    divisible = DivisibleStock(horizon)
    for line in horizon.lines:
        divisible.take(line, kits_of(answer[line.line]))
    found = dict(answer)
    for line in horizon.lines:
        made = kits_of(answer[line.line])
        most = line.kits if wanted is None else wanted[line.line]
        kits = made + divisible.kits(line, most - made)
        if kits == made:
            continue
        own = taken_by(line, answer[line.line])
        beside = {lot: quantity + own.get(lot, 0) for lot, quantity in left.items()}
        stretches = tuple(_few_batches(line, line.within(beside), kits))
        more = kits_of(stretches) - made
        if more > 0:
            found[line.line] = stretches
            divisible.take(line, more)
            for lot, quantity in taken_by(line, stretches).items():
                beside[lot] -= quantity
            left = beside
    return found


def literal(horizon: Horizon) -> Answer:
    """Return the answer in which every kit takes the lot that expires first."""
    return _served(horizon, first_expired, {}, {})


def _served(
    horizon: Horizon,
    cut: _Cut,
    wanted: Mapping[int, int],
    shares: Mapping[int, Mapping[int, int]],
) -> Answer:
    left = dict(horizon.stock)
    divisible = DivisibleStock(horizon)
    answer: dict[int, tuple[Stretch, ...]] = {}
    for line in horizon.lines:
        kits = divisible.kits(line, min(line.kits, wanted.get(line.line, line.kits)))
        lots = line.within(left, shares.get(line.line))
        stretches = tuple(cut(line, lots, kits)) if kits else ()
        answer[line.line] = stretches
        divisible.take(line, kits_of(stretches))
        for lot, quantity in taken_by(line, stretches).items():
            left[lot] -= quantity
    return answer


def _few_batches(line: PackLine, lots: _Lots, kits: int) -> Sequence[Stretch]:
    return stretches_of(line.kit, line.sheets, lots, kits, line.minimum_kits)[0]


def first_expired(line: PackLine, lots: _Lots, kits: int) -> list[Stretch]:
    """Return the stretches of a line that takes the oldest lots, whatever batches that makes."""
    orders = {item: list(held) for item, held in lots.items()}
    left = {lot.lot: lot.available for held in lots.values() for lot in held}
    stretches: list[Stretch] = []
    while kits and all(orders.values()):
        chosen = oldest_within_limits(line.sheets, orders)
        if chosen is None:
            break
        sheet = line.sheets.of(chosen)
        ends = {item: sheet.kits_from(item, left[lot.lot], kits) for item, lot in chosen.items()}
        length = min(ends.values(), default=kits)
        if length:
            stretches.append(Stretch(kits=length, lots=chosen))
            kits -= length
            for item, lot in chosen.items():
                left[lot.lot] -= sheet.needed(item, length)
        for item, lot in chosen.items():
            if not sheet.kits_from(item, left[lot.lot], 1):
                orders[item].remove(lot)
    return stretches
