"""How few batches any answer could have, with the kits of every line as they are."""

from __future__ import annotations

from collections.abc import Callable
from itertools import accumulate
from math import ceil

from planning.engine.horizon import Answer, Horizon, PackLine, kits_of
from planning.engine.kit_sheet import BoundLot
from planning.engine.programme import NODES, Programme, never

_ALMOST = 1e-6
_MANY_PAIRS = 3_000
"""Lots of lines beyond which only each line by itself is looked at: a programme as large works for
long, and then says no more."""


def fewest_batches(
    horizon: Horizon,
    answer: Answer,
    *,
    nodes: int = NODES,
    stop: Callable[[], bool] = never,
) -> int:
    """Return a number of batches below which no answer with these kits can be.

    A line has at least as many batches as it uses lots of any one variety, and it needs as many as
    would hold its kits if no other line took of them. Lots are taken at the least weight that they
    can have, and a batch may be of any size, so that nothing that is possible is left out. Where
    there are not very many lots of lines, a programme says what they need together.
    """
    lines = [line for line in horizon.lines if answer.get(line.line)]
    alone = sum(_alone(horizon, line, kits_of(answer[line.line])) for line in lines)
    pairs = sum(len(lots) for line in lines for lots in line.usable.values())
    if sum(len(answer[line.line]) for line in lines) == alone or pairs > _MANY_PAIRS or stop():
        return alone
    programme, batches = _laid(horizon, lines, answer)
    found = programme.smallest([dict.fromkeys(batches, 1.0)], nodes=nodes, stop=stop)
    if found is None or not found.solved:
        return alone
    return ceil(max(found.solved[0].bound - _ALMOST, alone))


def _alone(horizon: Horizon, line: PackLine, kits: int) -> int:
    """Return the fewest lots of the variety of which a line needs the most, were all stock its."""
    fewest = 1
    for item, lots in line.usable.items():
        held = sorted((_held(horizon, line, item, lot, kits) for lot in lots), reverse=True)
        short = sum(total < kits for total in accumulate(held))
        fewest = max(fewest, short + 1)
    return fewest


def _held(horizon: Horizon, line: PackLine, item: str, lot: BoundLot, kits: int) -> int:
    """Return how many kits of a line a lot could hold at the most."""
    each = line.lightest(item, lot) * (1 + line.kit.overage.get(item, 0.0))
    return min(kits, int(horizon.stock[lot.lot] / each + _ALMOST)) if each else kits


def _laid(horizon: Horizon, lines: list[PackLine], answer: Answer) -> tuple[Programme, list[int]]:
    programme = Programme()
    split = {
        item
        for line in lines
        for item in line.kit.items
        if len({stretch.lots[item].lot for stretch in answer[line.line]}) > 1
    }
    batches: list[int] = []
    drawn: dict[int, dict[int, float]] = {}
    for line in lines:
        count = programme.column()
        programme.row({count: 1.0}, least=1)
        batches.append(count)
        for item in line.kit.items:
            if item in split:
                _lay_item(programme, horizon, line, item, count, kits_of(answer[line.line]), drawn)
    for lot, weights in drawn.items():
        scale = max(weights.values())
        programme.row(
            {column: weight / scale for column, weight in weights.items()},
            most=horizon.stock[lot] / scale,
        )
    return programme, batches


def _lay_item(
    programme: Programme,
    horizon: Horizon,
    line: PackLine,
    item: str,
    count: int,
    kits: int,
    drawn: dict[int, dict[int, float]],
) -> None:
    """Lay the lots of one item for one line: kits of each, and whether it is used."""
    all_kits: dict[int, float] = {}
    uses: dict[int, float] = {count: -1.0}
    for lot in line.usable[item]:
        each = line.lightest(item, lot) * (1 + line.kit.overage.get(item, 0.0))
        most = min(kits, int(horizon.stock[lot.lot] / each + _ALMOST) if each else kits)
        column, used = programme.column(most=most), programme.column(most=1)
        programme.row({column: 1.0, used: -float(most)}, most=0)
        all_kits[column] = uses[used] = 1.0
        if each:
            drawn.setdefault(lot.lot, {})[column] = each
    programme.row(all_kits, least=kits, most=kits)
    programme.row(uses, most=0)
