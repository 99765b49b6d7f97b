"""Cutting kits into batches: where to change lots, so that few changes are needed.

Walks the kits from the first to the last. At each batch the question is asked afresh for the
kits that remain: is there one lot of every item that holds them all? If so, this is the last
batch. If not, each item starts on the oldest of the fewest lots that hold them, and the batch is
as long as the first of them to run out. Because the question is asked afresh, a variety that must
change sooner or later changes where another one has to: the change points line up.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import islice, product

from planning.engine.choice import fewest_oldest
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheets

Lots = Mapping[str, BoundLot]

_COMBINATIONS = 2_000
"""Sets of single lots that are tried at each batch."""

_WALKS = 400
"""Batches begun while looking for change points; beyond, the longest batch is taken."""


def oldest_sets(lots_by_item: Mapping[str, Sequence[BoundLot]]) -> Iterator[dict[str, BoundLot]]:
    """Yield sets of one lot of each item, the older the earlier, up to a fixed number of them."""
    ranks = product(*(range(len(lots)) for lots in lots_by_item.values()))
    for rank in sorted(islice(ranks, _COMBINATIONS), key=lambda rank: (sum(rank), rank)):
        yield {
            item: lots[place]
            for (item, lots), place in zip(lots_by_item.items(), rank, strict=True)
        }


def oldest_within_limits(
    sheets: KitSheets, lots_by_item: Mapping[str, Sequence[BoundLot]]
) -> dict[str, BoundLot] | None:
    """Return the oldest set of lots whose balanced weights may all be packed."""
    sets = oldest_sets(lots_by_item)
    return next((lots for lots in sets if not sheets.of(lots).balance.limits), None)


def strongest(lots_by_item: Mapping[str, Sequence[BoundLot]]) -> dict[str, BoundLot]:
    """Return of each item that has lots the one of most alpha acid."""
    return {
        item: max(lots, key=lambda lot: lot.effective_alpha)
        for item, lots in lots_by_item.items()
        if lots
    }


def lightest(kit: BoundKit, sheets: KitSheets, beside: Lots, item: str, lot: BoundLot) -> int:
    """Return a bound below what one kit can take from a lot, whatever the other lots are.

    An absorbing addition is lightest ``beside`` the strongest lots. One weight that moves is put on
    the nearest step, which is never below that of a lighter one; which way several are rounded
    makes one step of difference for each. Beside whole minutes that is not so: no bound is known.
    """
    if kit.moves_in_time and item not in kit.bound_items:
        return 0
    sheet = sheets.of({**beside, item: lot})
    moving = {line.line for line in kit.hop_lines if line.moves}
    step = kit.resolution_mg if len(moving) > 1 else 0
    return sum(
        max(each - step, 0) if line in moving else each
        for line, each in sheet.per_kit[item].items()
    )


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Kits in a row from one set of lots, by item."""

    kits: int
    lots: Lots


class Cutting:
    """One search for change points, with no batch under a minimum of kits.

    ``lots_by_item`` holds usable lots, first expired first.
    """

    def __init__(
        self,
        *,
        kit: BoundKit,
        sheets: KitSheets,
        lots_by_item: Mapping[str, Sequence[BoundLot]],
        minimum_kits: int,
    ) -> None:
        self._kit = kit
        self._items = kit.items
        self._sheets = sheets
        self._lots = lots_by_item
        self._minimum = minimum_kits
        self._walks = 0
        self._strongest = strongest(lots_by_item)

    def stretches(self, kits: int) -> list[Stretch]:
        """Return the stretches in order; they hold fewer kits where lots run out."""
        left = {lot.lot: lot.available for lots in self._lots.values() for lot in lots}
        return self._walk(kits, left)

    def _walk(self, kits: int, left: Mapping[int, int]) -> list[Stretch]:
        lots = self._lots_for(kits, left) if kits else None
        if lots is None:
            return []
        self._walks += 1
        best: list[Stretch] = []
        for length in self._lengths(lots, kits, left):
            rest = self._walk(kits - length, self._after(lots, length, left))
            found = [Stretch(kits=length, lots=lots), *rest]
            if (_total(found), -len(found)) > (_total(best), -len(best)):
                best = found
            if self._walks >= _WALKS:
                break
        return best

    def _lots_for(self, kits: int, left: Mapping[int, int]) -> Lots | None:
        """Return the lots that the next batch is packed from."""
        orders = {
            item: [lot for lot in self._lots.get(item, ()) if left[lot.lot] > 0]
            for item in self._items
        }
        if not all(orders.values()):
            return None
        return self._single_lots(orders, kits, left) or self._first_lots(orders, kits, left)

    def _single_lots(
        self, orders: Mapping[str, list[BoundLot]], kits: int, left: Mapping[int, int]
    ) -> Lots | None:
        """Return the oldest set of single lots that holds all the kits, if there is one."""
        hopeful = {
            item: [lot for lot in lots if self._least_needed(item, lot, kits) <= left[lot.lot]]
            for item, lots in orders.items()
        }
        return next((lots for lots in oldest_sets(hopeful) if self._holds(lots, kits, left)), None)

    def _least_needed(self, item: str, lot: BoundLot, kits: int) -> int:
        return kits * lightest(self._kit, self._sheets, self._strongest, item, lot)

    def _holds(self, lots: Lots, kits: int, left: Mapping[int, int]) -> bool:
        sheet = self._sheets.of(lots)
        return not sheet.balance.limits and all(
            sheet.needed(item, kits) <= left[lots[item].lot] for item in self._items
        )

    def _first_lots(
        self, orders: Mapping[str, list[BoundLot]], kits: int, left: Mapping[int, int]
    ) -> Lots | None:
        """Return for each item the oldest of the fewest lots that hold the kits.

        What an absorbing addition takes depends on the other lots: each item chooses beside what
        was chosen so far, and beside the oldest lots of those that choose after it.
        """
        chosen = oldest_within_limits(self._sheets, orders)
        if chosen is None:
            return None
        for item in self._items:
            held = [
                self._kits_held(item, lot, kits, left, {**chosen, item: lot})
                for lot in orders[item]
            ]
            places = fewest_oldest(held, kits) or [at for at, can in enumerate(held) if can]
            if not places:
                return None
            chosen = {**chosen, item: orders[item][places[0]]}
        return chosen

    def _kits_held(
        self, item: str, lot: BoundLot, kits: int, left: Mapping[int, int], beside: Lots
    ) -> int:
        """Return the kits a lot holds; none if it would break a limit or a batch's minimum."""
        sheet = self._sheets.of(beside)
        held = 0 if sheet.balance.limits else sheet.kits_from(item, left[lot.lot], kits)
        return held if held >= min(self._minimum, kits) else 0

    def _lengths(self, lots: Lots, kits: int, left: Mapping[int, int]) -> list[int]:
        """Return the lengths worth trying for a batch, the longest first.

        Besides the longest: what leaves a whole minimum for the last batch, and what leaves a
        whole minimum in a lot that would otherwise end soon after.
        """
        sheet = self._sheets.of(lots)
        ends = [sheet.kits_from(item, left[lots[item].lot], kits) for item in self._items]
        longest = min(ends, default=kits)
        tried = {longest, *(end - self._minimum for end in (kits, *ends) if end > longest)}
        return sorted(
            (length for length in tried if length <= longest and self._allowed(length, kits)),
            reverse=True,
        )

    def _allowed(self, length: int, kits: int) -> bool:
        rest = kits - length
        return length >= min(self._minimum, kits) and (rest == 0 or rest >= self._minimum)

    def _after(self, lots: Lots, kits: int, left: Mapping[int, int]) -> dict[int, int]:
        sheet = self._sheets.of(lots)
        taken = {lots[item].lot: sheet.needed(item, kits) for item in self._items}
        return {lot: quantity - taken.get(lot, 0) for lot, quantity in left.items()}


def _total(stretches: Iterable[Stretch]) -> int:
    return sum(stretch.kits for stretch in stretches)
