"""A horizon of run lines to be given lots, and what an answer takes of them.

The stock is one for all lines: what a line takes is gone for those that come after it, whenever
they are packed. A lot's ``available`` is what nobody has reserved, so batches that are reserved
or packed stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from functools import cached_property
from itertools import chain, product

from planning.engine.cutting import Stretch, lightest, strongest
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheet, KitSheets
from planning.engine.lots import LotSupply, drawn, first_expired_first_out
from planning.engine.usage import kits_held, quantity_needed

Answer = Mapping[int, tuple[Stretch, ...]]
"""By run line: its kits in stretches, in the order in which they are packed."""

_SETS = 500
"""Sets of lots that are tried to find one beside which a lot may be packed."""


@dataclass(frozen=True, kw_only=True)
class PackLine:
    """One run line: so many kits of one kind, packed on one day.

    Attributes
    ----------
    line: the number that names it.
    on: the day on which its lots are weighed.
    lots: candidate lots of each bound item, with their alpha acid on this line's brew day.
    divisible: whole units of stock that a kit takes of every other item, by row of its bill.
    firm: kits that firm orders wait for, by promised day.
    weak: yeast lots that pitch this kit below its target.
    """

    line: int
    on: date
    kits: int
    kit: BoundKit
    lots: Mapping[str, Sequence[BoundLot]]
    minimum_kits: int
    divisible: Mapping[str, Sequence[int]] = field(default_factory=dict)
    firm: Mapping[date, int] = field(default_factory=dict)
    weak: frozenset[int] = frozenset()

    @property
    def least(self) -> int:
        """The least kits of a batch: a small line is a batch of its own."""
        return min(self.minimum_kits, self.kits)

    @cached_property
    def sheets(self) -> KitSheets:
        """The kit from any set of its lots, each set balanced once."""
        return KitSheets(self.kit)

    @cached_property
    def usable(self) -> Mapping[str, Sequence[BoundLot]]:
        """The lots of each bound item that may be used on the day, first expired first."""
        return {
            item: first_expired_first_out(
                lot for lot in self.lots.get(item, ()) if lot.usable(self.on)
            )
            for item in self.kit.items
        }

    @cached_property
    def passed(self) -> Mapping[int, int]:
        """By lot: how many lots of its item would have expired first."""
        return {lot.lot: rank for lots in self.usable.values() for rank, lot in enumerate(lots)}

    def lightest(self, item: str, lot: BoundLot) -> int:
        """Return a bound below what one kit can take of a lot, whatever the lots beside it are."""
        return lightest(self.kit, self.sheets, self._strongest, item, lot)

    def fits(self, item: str, lot: BoundLot) -> bool:
        """Whether a lot's weights may be packed beside any lots of the other items.

        Where they may not beside the first sets of very many, it is taken that they may.
        """
        oldest = {name: lots[0] for name, lots in self.usable.items() if lots}
        sets = chain((self._strongest, oldest), self._sets_beside(item))
        return any(
            tried >= _SETS or not self.sheets.of({**oldest, **beside, item: lot}).balance.limits
            for tried, beside in enumerate(sets)
        )

    def _sets_beside(self, item: str) -> Iterator[Mapping[str, BoundLot]]:
        """Yield every set of lots of the hops other than an item."""
        names = [
            name
            for name in dict.fromkeys(line.item for line in self.kit.hop_lines)
            if name != item and self.usable[name]
        ]
        for lots in product(*(self.usable[name] for name in names)):
            yield dict(zip(names, lots, strict=True))

    @cached_property
    def _strongest(self) -> Mapping[str, BoundLot]:
        return strongest(self.usable)

    def sheet(self, stretch: Stretch) -> KitSheet:
        """Return what a kit of a stretch takes."""
        return self.sheets.of(stretch.lots)

    def within(
        self, left: Mapping[int, int], shares: Mapping[int, int] | None = None
    ) -> dict[str, list[BoundLot]]:
        """Return the usable lots with what is left of each.

        Where ``shares`` are given, kits by lot, a lot among them has no more than those take of
        it beside lots at planning alpha.
        """
        return {
            item: [
                replace(lot, available=most)
                for lot in lots
                if (most := min(left[lot.lot], self._share(item, lot, shares))) > 0
            ]
            for item, lots in self.usable.items()
        }

    def _share(self, item: str, lot: BoundLot, shares: Mapping[int, int] | None) -> int:
        if shares is None or lot.lot not in shares:
            return lot.available
        return self.sheets.of({item: lot}).needed(item, shares[lot.lot])

    def needed(self, item: str, kits: int) -> int:
        """Return what so many kits take of a divisible item."""
        extra = self.kit.overage.get(item, 0.0)
        return sum(quantity_needed(kits, each, extra) for each in self.divisible[item])


@dataclass(frozen=True, kw_only=True)
class Horizon:
    """Run lines in the order in which they are served, and the stock of divisible items.

    Firm orders come first, by the earliest day promised to one of them; then the day of packing.
    """

    lines: Sequence[PackLine]
    divisible: Mapping[str, Sequence[LotSupply]] = field(default_factory=dict)

    @cached_property
    def stock(self) -> Mapping[int, int]:
        """What every bound lot has."""
        return {
            lot.lot: lot.available
            for line in self.lines
            for lots in line.lots.values()
            for lot in lots
        }

    @cached_property
    def promised(self) -> tuple[date, ...]:
        """Every day promised to a firm order, the earliest first."""
        return tuple(sorted({day for line in self.lines for day in line.firm}))

    @cached_property
    def rests(self) -> Mapping[int, tuple[int, int]]:
        """By usable lot: what a kit and what a batch's minimum take of it, of the lightest line.

        The lots beside it are taken at planning alpha.
        """
        rests: dict[int, tuple[int, int]] = {}
        for line in self.lines:
            for item, lots in line.usable.items():
                for lot in lots:
                    sheet = line.sheets.of({item: lot})
                    found = sheet.needed(item, 1), sheet.needed(item, line.least)
                    if found[0]:
                        rests[lot.lot] = min(found, rests.get(lot.lot, found))
        return rests

    @cached_property
    def codes(self) -> Mapping[int, str]:
        """Lots by number, as people name them."""
        return {
            lot.lot: lot.code for line in self.lines for lots in line.lots.values() for lot in lots
        }


def in_order(lines: Iterable[PackLine]) -> list[PackLine]:
    """Return lines in the order in which they are served."""
    return sorted(lines, key=lambda line: (min(line.firm, default=date.max), line.on, line.line))


def kits_of(stretches: Iterable[Stretch]) -> int:
    """Return the kits of these stretches."""
    return sum(stretch.kits for stretch in stretches)


def taken_by(line: PackLine, stretches: Iterable[Stretch]) -> dict[int, int]:
    """Return what stretches of a line take of each bound lot, in whole units of stock."""
    taken: dict[int, int] = {}
    for stretch in stretches:
        sheet = line.sheet(stretch)
        for item, lot in stretch.lots.items():
            needed = sheet.needed(item, stretch.kits)
            if needed:
                taken[lot.lot] = taken.get(lot.lot, 0) + needed
    return taken


def left_after(horizon: Horizon, answer: Answer) -> dict[int, int]:
    """Return what an answer leaves of every bound lot; below zero where it is overdrawn."""
    left = dict(horizon.stock)
    for line in horizon.lines:
        for lot, quantity in taken_by(line, answer.get(line.line, ())).items():
            left[lot] -= quantity
    return left


class DivisibleStock:
    """What is left of divisible items as lines draw on them, first expired first."""

    def __init__(self, horizon: Horizon) -> None:
        self._lots = horizon.divisible
        self._left = {lot.lot: lot.available for lots in horizon.divisible.values() for lot in lots}

    def kits(self, line: PackLine, wanted: int) -> int:
        """Return how many of the kits wanted what is left would hold."""
        for item, each in line.divisible.items():
            extra = line.kit.overage.get(item, 0.0)
            usable = sum(lot.available for lot in self._of(item) if lot.usable(line.on))
            held = kits_held(usable, each, extra)
            wanted = wanted if held is None else min(wanted, held)
        return wanted

    def take(self, line: PackLine, kits: int) -> None:
        """Draw what so many kits take."""
        for item in line.divisible:
            for lot, quantity in drawn(line.needed(item, kits), self._of(item), line.on).rows:
                self._left[lot] -= quantity

    def short(self, line: PackLine, wanted: int) -> set[str]:
        """Return the items of which what is left does not hold the kits wanted."""
        return {
            item
            for item in line.divisible
            if sum(lot.available for lot in self._of(item) if lot.usable(line.on))
            < line.needed(item, wanted)
        }

    def _of(self, item: str) -> list[LotSupply]:
        return [replace(lot, available=self._left[lot.lot]) for lot in self._lots.get(item, ())]
