"""Boxes as they will leave: which are alike, how long they keep, what they contain.

A box keeps as long as its kit and all that is added to it; yeast that is added at dispatch is dated
by itself. Its allergens are those of what was really packed into it and added to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

from inventory.models import Item, Lot
from inventory.models.items import ALLERGENS
from planning.engine.best_before import BestBefore, Component, best_before
from planning.engine.boxes import Share, alike
from planning.models import Allocation
from planning.queries.best_before import lot_components
from planning.queries.dispatch_lots import Way, is_grain
from planning.queries.dispatch_offers import LineChoice, OrderChoice
from planning.queries.dispatch_stock import EXTRA, KIT
from recipes.models import KitBillLine, Part

THE_LOT = "The lot itself"
"""What a box's best-before is set by where nothing that was added shortens it."""

Picks = Mapping[int, Mapping[str, Sequence[Share]]]
"""Boxes by order line, by kind of thing, by lot."""


@dataclass(frozen=True, kw_only=True)
class PartPacked:
    """What is added to each box from one lot, and over all of the boxes; ``crushed`` as it left."""

    key: str
    lot: Lot
    per_box: int
    quantity: int
    crushed: bool
    is_yeast: bool


@dataclass(frozen=True, kw_only=True)
class BoxPacked:
    """Boxes alike of one line; of an extra, so much of its lot and nothing else."""

    choice: LineChoice
    lot: Lot
    quantity: int
    parts: tuple[PartPacked, ...]
    dated: BestBefore
    allergens: tuple[str, ...]

    @property
    def is_kit(self) -> bool:
        """Whether these are boxes of kits."""
        return self.choice.line.kit_id is not None


def boxes_packed(choice: OrderChoice, picks: Picks) -> list[BoxPacked]:
    """Return the boxes that picks come to; each kind of thing must fill the same boxes.

    Three statements, and one more for each level of kits within kits.
    """
    groups = [
        (line, alike_row.boxes, alike_row.lots)
        for line in choice.lines
        if line.line.pk in picks
        for alike_row in alike(picks[line.line.pk])
    ]
    mains = [_lot_of(line, KIT if line.line.kit_id else EXTRA, lots) for line, _, lots in groups]
    parts = [tuple(_parts(line, boxes, lots)) for line, boxes, lots in groups]
    added = (part.lot.item_id for row in parts for part in row)
    allergens = _Allergens(mains, added)
    return [
        BoxPacked(
            choice=line,
            lot=main,
            quantity=boxes,
            parts=row,
            dated=best_before(_components(main, row, choice.way)),
            allergens=allergens.of(main, row),
        )
        for (line, boxes, _), main, row in zip(groups, mains, parts, strict=True)
    ]


def _parts(line: LineChoice, boxes: int, lots: Mapping[str, int]) -> Iterator[PartPacked]:
    for row in line.rows:
        if row.key in (KIT, EXTRA):
            continue
        offer = row.offer(lots[row.key])
        if offer is None:
            raise AssertionError
        yield PartPacked(
            key=row.key,
            lot=offer.lot,
            per_box=offer.per_box,
            quantity=offer.per_box * boxes,
            crushed=is_grain(offer.lot) and line.line.crushed,
            is_yeast=row.is_yeast,
        )


def _lot_of(line: LineChoice, key: str, lots: Mapping[str, int]) -> Lot:
    row = line.row(key)
    offer = row.offer(lots[key]) if row else None
    if offer is None:
        raise AssertionError
    return offer.lot


def _components(main: Lot, parts: Iterable[PartPacked], way: Way) -> Iterator[Component]:
    for found in lot_components(main, way.shipped_on):
        yield replace(found, name=THE_LOT)
    for part in parts:
        if part.is_yeast:
            continue
        yield from lot_components(part.lot, way.shipped_on)
        life = part.lot.item.crushed_days
        if part.crushed and part.lot.crushed_on is None and life is not None:
            yield Component(
                name=f"{part.lot.item.name}, lot {part.lot.code}",
                reason="crushed for this box",
                last_day=way.shipped_on + timedelta(days=life),
            )


class _Allergens:
    """The allergens of boxes, by the items that are really in them."""

    def __init__(self, mains: Collection[Lot], added: Iterable[int]) -> None:
        self._packed = _packed_items(mains)
        items = {lot.item_id for lot in mains} | {*added}.union(*self._packed.values())
        self._inside = _inside(items)
        every = items.union(*self._inside.values())
        self._named = dict(Item.objects.filter(pk__in=every).values_list("pk", "allergens"))

    def of(self, main: Lot, parts: Iterable[PartPacked]) -> tuple[str, ...]:
        """Return the allergens of a box, as the law orders them."""
        packed = self._packed.get(main.pk) or {main.item_id}
        items = self._whole({*packed, *(part.lot.item_id for part in parts)})
        found = {each for item in items for each in self._named[item]}
        return tuple(each for each in ALLERGENS if each in found)

    def _whole(self, items: set[int]) -> set[int]:
        """Return items and all that the kits among them hold."""
        inside = {each for item in items for each in self._inside.get(item, ())} - items
        return self._whole(items | inside) if inside else items


def _packed_items(lots: Iterable[Lot]) -> dict[int, set[int]]:
    """Return the items that were packed into lots of kits, by lot; one statement."""
    made = {lot.made_by_id: lot.pk for lot in lots if lot.made_by_id is not None}
    found: dict[int, set[int]] = defaultdict(set)
    rows = Allocation.objects.filter(batch__conversion__in=made, current=True)
    for work, item in rows.values_list("batch__conversion", "lot__item"):
        found[made[work]].add(item)
    return dict(found)


def _inside(items: set[int]) -> dict[int, set[int]]:
    """Return what kits hold by their bills, by item, and what the kits among that hold.

    One statement for each level of kits within kits, and one that finds no more.
    """
    found: dict[int, set[int]] = defaultdict(set)
    known, level = set(items), set(items)
    while level:
        rows = KitBillLine.objects.filter(kit__item__in=level, part=Part.PACKED)
        pairs = list(rows.values_list("kit__item", "item"))
        for kit, item in pairs:
            found[kit].add(item)
        level = {item for _, item in pairs} - known
        known |= level
    return dict(found)
