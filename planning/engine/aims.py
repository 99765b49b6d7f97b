"""How good an answer is: the aims of choosing lots for a horizon, in their order."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from planning.engine.cutting import Stretch
from planning.engine.horizon import Answer, Horizon, PackLine, kits_of, left_after


@dataclass(frozen=True, kw_only=True)
class Aims:
    """What an answer comes to.

    Attributes
    ----------
    firm: kits for firm orders by promised day, the earliest first.
    kits: kits in all.
    under_minimum: batches of fewer kits than the minimum, which only kits can be worth.
    batches: changes of weights and of paper, the first of each line included.
    later: kits times the lines served before theirs: of as many, the first lines get them.
    weak: kits whose yeast pitches below the target.
    passed: kits times the usable lots that expire before the one they are packed from.
    slivers: lots left with a kit or more, but with fewer than a batch's minimum, used or not.
    lot_uses: lots of every line, each counted once; no aim of its own.
    """

    firm: tuple[int, ...]
    kits: int
    under_minimum: int
    batches: int
    later: int
    weak: int
    passed: int
    slivers: int
    lot_uses: int

    @property
    def worth(self) -> tuple[int, ...]:
        """The aims in their order as numbers to be made large."""
        return (
            *self.firm,
            self.kits,
            -self.under_minimum,
            -self.batches,
            -self.later,
            -self.weak,
            -self.passed,
            -self.slivers,
        )


def aims_of(horizon: Horizon, answer: Answer) -> Aims:
    """Return what an answer comes to."""
    of = [(line, answer.get(line.line, ())) for line in horizon.lines]
    return Aims(
        firm=firm_kits(horizon, {line.line: kits_of(stretches) for line, stretches in of}),
        kits=sum(kits_of(stretches) for _, stretches in of),
        later=sum(before * kits_of(stretches) for before, (_, stretches) in enumerate(of)),
        under_minimum=sum(
            stretch.kits < line.least for line, stretches in of for stretch in stretches
        ),
        batches=sum(len(stretches) for _, stretches in of),
        weak=sum(_weak(line, stretches) for line, stretches in of),
        passed=sum(_passed(line, stretches) for line, stretches in of),
        slivers=len(slivers(horizon, answer)),
        lot_uses=sum(
            len({(item, lot.lot) for stretch in stretches for item, lot in stretch.lots.items()})
            for _, stretches in of
        ),
    )


def firm_kits(horizon: Horizon, kits: Mapping[int, int]) -> tuple[int, ...]:
    """Return the kits for firm orders by promised day; a line serves the earliest of its own."""
    served = dict.fromkeys(horizon.promised, 0)
    for line in horizon.lines:
        left = kits.get(line.line, 0)
        for day in sorted(line.firm):
            given = min(left, line.firm[day])
            served[day] += given
            left -= given
    return tuple(served.values())


def slivers(horizon: Horizon, answer: Answer) -> list[int]:
    """Return the lots left with a kit or more, but with fewer than a batch's minimum.

    Less than a kit counts as used up.
    """
    left = left_after(horizon, answer)
    return sorted(lot for lot, (kit, batch) in horizon.rests.items() if kit <= left[lot] < batch)


def _weak(line: PackLine, stretches: Sequence[Stretch]) -> int:
    return sum(
        stretch.kits
        for stretch in stretches
        if any(lot.lot in line.weak for lot in stretch.lots.values())
    )


def _passed(line: PackLine, stretches: Sequence[Stretch]) -> int:
    return sum(
        stretch.kits * line.passed[lot.lot]
        for stretch in stretches
        for lot in stretch.lots.values()
    )
