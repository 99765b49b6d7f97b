"""Which items hold kits back where an answer does not pack all that is wanted."""

from __future__ import annotations

from planning.engine.horizon import Answer, DivisibleStock, Horizon, PackLine, kits_of, left_after
from planning.engine.kit_sheet import BoundLot


def lacking(horizon: Horizon, answer: Answer) -> dict[int, set[str]]:
    """Return by line that lacks kits, or has a batch too small, the items that hold it back.

    They are those of which an answer leaves less than the kits that are lacking would take. Where
    every item reaches, they only do not lie in lots that go together: then it is all bound ones.
    """
    left = left_after(horizon, answer)
    divisible = DivisibleStock(horizon)
    for line in horizon.lines:
        divisible.take(line, kits_of(answer.get(line.line, ())))
    found: dict[int, set[str]] = {}
    for line in horizon.lines:
        stretches = answer.get(line.line, ())
        kits = line.kits - kits_of(stretches)
        if kits or any(stretch.kits < line.least for stretch in stretches):
            short = {
                item
                for item, lots in line.usable.items()
                if sum(_held(line, item, lot, left[lot.lot]) for lot in lots) < kits
            } | divisible.short(line, kits)
            found[line.line] = short or set(line.kit.items)
    return found


def _held(line: PackLine, item: str, lot: BoundLot, left: int) -> int:
    each = line.lightest(item, lot)
    return left // each if each else line.kits
