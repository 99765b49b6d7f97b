"""A run line cut as it was chosen before: reckoned anew, as far as its lots still hold it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from planning.engine.allotment import Allotment, batches_of
from planning.engine.cutting import Stretch
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheets


@dataclass(frozen=True, kw_only=True)
class ChosenBatch:
    """Kits in a row, and the lot of each bound item."""

    kits: int
    lots: Mapping[str, int]


def cut_as_chosen(
    kit: BoundKit,
    chosen: Sequence[ChosenBatch],
    lots_by_item: Mapping[str, Sequence[BoundLot]],
    on: date,
) -> Allotment:
    """Return the batches that were chosen, with the weights of their lots as they are known now.

    It ends before the first batch that its lots do not hold any more: a lot is gone, used up, not
    usable on the day, or its weights may not be packed; ``limits`` says why in the last case.
    """
    sheets = KitSheets(kit)
    lots = {
        lot.lot: lot for item in kit.items for lot in lots_by_item.get(item, ()) if lot.usable(on)
    }
    left = {number: lot.available for number, lot in lots.items()}
    stretches: list[Stretch] = []
    for batch in chosen:
        if batch.lots.keys() != set(kit.items) or not lots.keys() >= set(batch.lots.values()):
            break
        stretch = Stretch(
            kits=batch.kits, lots={item: lots[lot] for item, lot in batch.lots.items()}
        )
        sheet = sheets.of(stretch.lots)
        if sheet.balance.limits:
            cut = batches_of(sheets, stretches)
            return Allotment(batches=cut, minimum_kits=1, limits=sheet.balance.limits)
        for item, lot in batch.lots.items():
            left[lot] -= sheet.needed(item, batch.kits)
        if min(left.values()) < 0:
            break
        stretches.append(stretch)
    return Allotment(batches=batches_of(sheets, stretches), minimum_kits=1)
