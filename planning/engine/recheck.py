"""An answer checked anew in whole units: what would be wrong with it, in sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from planning.engine.cutting import Stretch
from planning.engine.horizon import (
    Answer,
    DivisibleStock,
    Horizon,
    PackLine,
    kits_of,
    left_after,
)


def faults(horizon: Horizon, answer: Answer) -> list[str]:
    """Return what is wrong with an answer; empty where every lot may be used as it says.

    A batch under the minimum is no fault: it is counted among the aims, where only kits outweigh
    it.
    """
    divisible = DivisibleStock(horizon)
    found: list[str] = []
    for line in horizon.lines:
        stretches = answer.get(line.line, ())
        kits = kits_of(stretches)
        if kits > line.kits:
            found.append(f"Line {line.line} packs {kits} kits of the {line.kits} that are wanted.")
        if divisible.kits(line, kits) < kits:
            found.append(f"Line {line.line}: what is not bound to a lot does not hold {kits} kits.")
        divisible.take(line, kits)
        found += _of_stretches(line, stretches)
    found += [
        f"Lot {horizon.codes[lot]} is overdrawn by {-left}."
        for lot, left in left_after(horizon, answer).items()
        if left < 0
    ]
    return found


def _of_stretches(line: PackLine, stretches: Sequence[Stretch]) -> Iterable[str]:
    for stretch in stretches:
        if stretch.kits < 1 or stretch.lots.keys() != set(line.kit.items):
            yield f"Line {line.line} has a batch without kits or without a lot."
            continue
        for lot in stretch.lots.values():
            if not lot.usable(line.on):
                yield f"Lot {lot.code} may not be used on {line.on}."
        for limit in line.sheet(stretch).balance.limits:
            yield f"Line {line.line}: {limit.what}"
