"""Run lines cut anew from other lots, with the change points of their varieties lined up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from math import ceil

from planning.engine.cutting import Stretch
from planning.engine.horizon import Answer, Horizon, PackLine, left_after, taken_by
from planning.engine.kit_sheet import BoundLot
from planning.engine.lining_up import Share, lined_up

Kits = Mapping[int, int]
"""Kits by lot."""


def kits_by_lot(stretches: Sequence[Stretch], item: str) -> dict[int, int]:
    """Return the kits that a line packs from each lot of an item."""
    kits: dict[int, int] = {}
    for stretch in stretches:
        lot = stretch.lots[item].lot
        kits[lot] = kits.get(lot, 0) + stretch.kits
    return kits


def heaviest(
    line: PackLine, stretches: Sequence[Stretch], item: str, lot: BoundLot
) -> float | None:
    """Return the most that a kit takes of a lot, with the overage, beside lots of these stretches.

    None where its weights may not be packed beside one of them.
    """
    sheets = [line.sheets.of({**stretch.lots, item: lot}) for stretch in stretches]
    if any(sheet.balance.limits for sheet in sheets):
        return None
    extra = 1 + line.kit.overage.get(item, 0.0)
    return extra * max(sum(sheet.per_kit[item].values()) for sheet in sheets)


def recut(horizon: Horizon, answer: Answer, item: str, chosen: Mapping[int, Kits]) -> Answer | None:
    """Return the answer with other lots of one item for some lines; None where it cannot be cut.

    ``chosen`` is kits by lot for each line that changes. The other varieties keep their lots.
    """
    found = dict(answer)
    left = left_after(horizon, answer)
    lines = [line for line in horizon.lines if line.line in chosen]
    planned = {line.line: _planned(line, answer[line.line], item, chosen) for line in lines}
    for line in lines:
        give(left, taken_by(line, answer[line.line]))
        give(left, _quantities(planned[line.line]), times=-1)
    for line in lines:
        shares = planned[line.line]
        stretches = _cut(line, shares, left, _least(line, answer[line.line], chosen[line.line]))
        if stretches is None:
            return None
        give(left, _quantities(shares))
        give(left, taken_by(line, stretches), times=-1)
        found[line.line] = stretches
    return found


def relined(horizon: Horizon, answer: Answer, line: PackLine) -> Answer | None:
    """Return the answer with one line's changes lined up as its lots allow; None: no way found."""
    item = next(iter(line.kit.items), None)
    if item is None:
        return None
    return recut(horizon, answer, item, {line.line: kits_by_lot(answer[line.line], item)})


_Planned = dict[str, dict[int, tuple[int, float]]]
"""By item and lot: kits, and what each takes at the most."""


def _planned(
    line: PackLine, stretches: Sequence[Stretch], item: str, chosen: Mapping[int, Kits]
) -> _Planned:
    planned: _Planned = {}
    for name in line.kit.items:
        kits = chosen[line.line] if name == item else kits_by_lot(stretches, name)
        planned[name] = {
            lot.lot: (kits[lot.lot], heaviest(line, stretches, name, lot) or 0.0)
            for lot in line.usable[name]
            if kits.get(lot.lot)
        }
    return planned


def _quantities(planned: _Planned) -> dict[int, int]:
    return {
        lot: ceil(kits * each) for lots in planned.values() for lot, (kits, each) in lots.items()
    }


def _least(line: PackLine, stretches: Sequence[Stretch], chosen: Kits) -> int:
    """Return the least kits of a batch, or fewer where the line has a smaller one already."""
    return min(line.least, *(stretch.kits for stretch in stretches), *chosen.values())


def _cut(
    line: PackLine, planned: _Planned, left: Mapping[int, int], least: int
) -> tuple[Stretch, ...] | None:
    varieties = [
        [
            Share(
                lot=lot, kits=kits, most=kits + int(max(left[lot], 0) / each) if each else line.kits
            )
            for lot, (kits, each) in lots.items()
        ]
        for lots in planned.values()
    ]
    pieces = lined_up(varieties, least=least)
    if pieces is None:
        return None
    lots = {lot.lot: lot for held in line.usable.values() for lot in held}
    return tuple(
        Stretch(
            kits=kits,
            lots={item: lots[lot] for item, lot in zip(planned, chosen, strict=True)},
        )
        for kits, chosen in pieces
    )


def give(left: dict[int, int], quantities: Mapping[int, int], *, times: int = 1) -> None:
    """Add quantities by lot to what is left of them; ``times`` is -1 to take them."""
    for lot, quantity in quantities.items():
        left[lot] += times * quantity
