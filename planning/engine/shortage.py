"""What a whole run lacks of divisible things, and how many kits of each line are possible."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

from planning.engine.lots import LotSupply
from planning.engine.usage import kits_held, quantity_needed


@dataclass(frozen=True, kw_only=True)
class KitLine:
    """One line of a run: its kits, and whole units of stock per kit by item."""

    line: str
    kits: int
    per_kit: Mapping[str, int]


@dataclass(frozen=True, kw_only=True)
class Shortage:
    """An item that a run lacks: needed and available in whole units of stock.

    ``kits_possible`` is how many kits this item alone allows, of the kits that use it.
    """

    item: str
    needed: int
    available: int
    kits_possible: int

    @property
    def short(self) -> int:
        """What is missing; zero when there is enough, but in lots that cannot be used whole."""
        return max(self.needed - self.available, 0)


@dataclass(frozen=True, kw_only=True)
class LineKits:
    """How many kits of a run line are possible after earlier lines took theirs.

    ``limited_by`` names the items that allow no more kits than that; empty when all are possible.
    """

    line: str
    kits: int
    possible: int
    limited_by: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class RunShortage:
    """Everything a run lacks; empty ``items`` means that it can be made whole."""

    items: tuple[Shortage, ...]
    lines: tuple[LineKits, ...]


def run_shortage(
    *,
    lines: Sequence[KitLine],
    lots_by_item: Mapping[str, Iterable[LotSupply]],
    on: date,
    overage: Mapping[str, float] | None = None,
) -> RunShortage:
    """Return what is short over all lines, in the order in which they take from stock.

    An earlier line takes what it can use before a later one is asked. Lots that are not usable
    ``on`` the day of packing do not count. ``overage`` is a share by item.

    >>> lots = {"malt": [LotSupply(lot=1, code="A", available=10_000)]}
    >>> lines = [KitLine(line=name, kits=3, per_kit={"malt": 2_000}) for name in ("Ale", "Stout")]
    >>> short = run_shortage(lines=lines, lots_by_item=lots, on=date(2025, 5, 1))
    >>> [(item.item, item.short, item.kits_possible) for item in short.items]
    [('malt', 2000, 5)]
    >>> [(line.line, line.possible) for line in short.lines]
    [('Ale', 3), ('Stout', 2)]
    """
    extra = overage or {}
    used = {item: None for line in lines for item, each in line.per_kit.items() if each}
    stock = {
        item: sum(lot.available for lot in lots_by_item.get(item, ()) if lot.usable(on))
        for item in used
    }
    return RunShortage(
        items=tuple(
            shortage
            for item in used
            if (shortage := _item_shortage(item, lines, stock[item], extra.get(item, 0.0)))
        ),
        lines=tuple(_line_kits(lines, stock, extra)),
    )


def _item_shortage(
    item: str, lines: Sequence[KitLine], available: int, overage: float
) -> Shortage | None:
    needed = possible = 0
    left = available
    for line in lines:
        each = line.per_kit.get(item, 0)
        held = kits_held(left, [each], overage)
        if held is None:
            continue
        made = min(held, line.kits)
        possible += made
        left -= quantity_needed(made, each, overage)
        needed += quantity_needed(line.kits, each, overage)
    if needed <= available:
        return None
    return Shortage(item=item, needed=needed, available=available, kits_possible=possible)


def _line_kits(
    lines: Sequence[KitLine], stock: Mapping[str, int], overage: Mapping[str, float]
) -> Iterable[LineKits]:
    left = defaultdict(int, stock)
    for line in lines:
        held = {
            item: kits
            for item, each in line.per_kit.items()
            if (kits := kits_held(left[item], [each], overage.get(item, 0.0))) is not None
        }
        possible = min(line.kits, *held.values()) if held else line.kits
        limited = possible < line.kits
        yield LineKits(
            line=line.line,
            kits=line.kits,
            possible=possible,
            limited_by=tuple(item for item, kits in held.items() if limited and kits == possible),
        )
        for item in held:
            left[item] -= quantity_needed(possible, line.per_kit[item], overage.get(item, 0.0))
