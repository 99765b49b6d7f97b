"""What would leave for an order on a day: the lots of each box, and what is lacking.

Kits and what is added to them go first expired first. Yeast is chosen last and by its journey: the
oldest lot that still reaches its target on brew day, for the line that asks for most of its yeast
first; where none does, the lot that gives most, down to the floor. Nothing is reserved: what
orders promised earlier will want is said, and whoever dispatches decides.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date

from inventory.models import Lot
from planning.engine.boxes import Share, boxes_in, cut_to, filled
from planning.models import CustomerOrder, CustomerOrderState, OrderLine
from planning.queries.dispatch_lots import (
    LotVerdict,
    Way,
    added_verdict,
    goods_verdict,
    ice_verdict,
    is_grain,
    kit_verdict,
)
from planning.queries.dispatch_offers import LineChoice, LotOffer, OrderChoice, RowChoice
from planning.queries.dispatch_remedies import remedies
from planning.queries.dispatch_stock import (
    EXTRA,
    ICE,
    KIT,
    Added,
    DispatchStock,
    dispatch_stock,
    open_lines,
    orders_in_full,
)
from planning.queries.routes import route_of


def dispatch_choice(order_id: int, shipped_on: date) -> OrderChoice:
    """Return what would leave for one order on a day; a fixed number of statements.

    Raises
    ------
    CustomerOrder.DoesNotExist: there is no such order.
    """
    order = orders_in_full().get(pk=order_id)
    stock = dispatch_stock([order])
    found = choice_of(order, shipped_on, stock, stock.free())
    return replace(found, promised=tuple(_promised_before(order, stock)))


def choice_of(
    order: CustomerOrder, shipped_on: date, stock: DispatchStock, free: dict[int, int]
) -> OrderChoice:
    """Return what would leave for an order, and take it from what is free."""
    route = route_of(order.zone, stock.site)
    way = Way(route=route, shipped_on=shipped_on)
    chooser = _Chooser(order=order, way=way, stock=stock, free=free)
    return OrderChoice(
        order=order,
        way=way,
        ships=route.ships_on(shipped_on, stock.calendar),
        next_ship_on=route.ship_day(shipped_on, stock.calendar),
        lines=tuple(chooser.lines()),
    )


@dataclass(kw_only=True)
class _Thing:
    """One kind of thing that a line's boxes take, with its lots in the order they are chosen."""

    key: str
    name: str
    item_id: int
    measure: str
    per_box: Mapping[int, int]
    lots: Sequence[tuple[Lot, LotVerdict]]
    is_yeast: bool = False
    asks: float = 0.0
    pick: str = ""
    stands_in: Mapping[int, str] = field(default_factory=dict)
    shares: tuple[Share, ...] = ()
    free: Mapping[int, int] = field(default_factory=dict)


@dataclass(kw_only=True)
class _Chooser:
    """Chooses for one order, line by line; what it takes is free no more."""

    order: CustomerOrder
    way: Way
    stock: DispatchStock
    free: dict[int, int]

    def lines(self) -> Iterator[LineChoice]:
        lines = open_lines(self.order)
        things = {line.pk: list(self._things(line)) for line in lines}
        for line in lines:
            for thing in things[line.pk]:
                if not thing.is_yeast:
                    self._take(thing, _left(line))
        yeasts = [(thing, line) for line in lines for thing in things[line.pk] if thing.is_yeast]
        for thing, line in sorted(yeasts, key=lambda pair: -pair[0].asks):
            self._take(thing, _ready(things[line.pk], _left(line), but=thing))
        for line in lines:
            yield self._line(line, things[line.pk])

    def _line(self, line: OrderLine, things: Sequence[_Thing]) -> LineChoice:
        wanted = _left(line)
        ready = _ready(things, wanted)
        rows = tuple(self._row(thing, wanted, ready) for thing in things)
        for thing in things:
            self._give_back(thing, ready)
        return LineChoice(
            line=line,
            brew_on=self.way.brew_day(line),
            wanted=wanted,
            ready=ready,
            rows=rows,
        )

    def _row(self, thing: _Thing, wanted: int, ready: int) -> RowChoice:
        proposed = {share.lot: share.boxes for share in cut_to(ready, thing.shares)}
        offers = tuple(
            LotOffer(
                lot=lot,
                free=thing.free[lot.pk],
                per_box=thing.per_box[lot.item_id],
                fills=thing.free[lot.pk] // thing.per_box[lot.item_id],
                boxes=proposed.get(lot.pk, 0),
                verdict=verdict,
                stands_in=thing.stands_in.get(lot.item_id, ""),
            )
            for lot, verdict in thing.lots
        )
        could = sum(offer.fills for offer in offers if offer.verdict.ready)
        short = max(0, wanted - could)
        return RowChoice(
            key=thing.key,
            name=thing.name,
            item_id=thing.item_id,
            measure=thing.measure,
            per_box=thing.per_box[thing.item_id],
            wanted=wanted,
            short=short,
            offers=offers,
            remedies=tuple(self._remedies(thing, short)) if short else (),
            is_yeast=thing.is_yeast,
            pick=thing.pick,
        )

    def _remedies(self, thing: _Thing, short: int) -> Iterator[str]:
        coming = self.stock.coming.get(thing.item_id, ())
        return remedies(thing.lots, coming, short * thing.per_box[thing.item_id])

    def _take(self, thing: _Thing, wanted: int) -> None:
        """Fill boxes from the lots that are ready; what it is offered from is noted first."""
        thing.free = {lot.pk: self.free[lot.pk] for lot, _ in thing.lots}
        thing.shares = filled(
            wanted,
            [
                (lot.pk, self.free[lot.pk] // thing.per_box[lot.item_id])
                for lot, verdict in thing.lots
                if verdict.ready
            ],
        )
        self._shift(thing, thing.shares, -1)

    def _give_back(self, thing: _Thing, ready: int) -> None:
        """Free what was taken for boxes that cannot leave."""
        self._shift(thing, thing.shares, 1)
        thing.shares = cut_to(ready, thing.shares)
        self._shift(thing, thing.shares, -1)

    def _shift(self, thing: _Thing, shares: Iterable[Share], by: int) -> None:
        items = {lot.pk: lot.item_id for lot, _ in thing.lots}
        for share in shares:
            self.free[share.lot] += by * share.boxes * thing.per_box[items[share.lot]]

    def _things(self, line: OrderLine) -> Iterator[_Thing]:
        """Yield what the boxes of a line take, in the order in which it is picked."""
        if line.item is not None:
            lots = [(lot, goods_verdict(lot, self.way)) for lot in self._of(line.item_id or 0)]
            yield _plain(EXTRA, line.item.name, line.item_id or 0, line.item.measure, 1, lots)
            return
        kit = line.kit
        if kit is None:
            raise AssertionError
        lots = [
            (lot, kit_verdict(lot, line, self.way, self.stock)) for lot in self._of(kit.item_id)
        ]
        yield _plain(KIT, kit.item.name, kit.item_id, kit.item.measure, 1, lots)
        added = self.stock.added[line.pk]
        chosen = self._chosen(lots)
        yield from (
            self._added(row, line, chosen) for row in added if not row.original.is_yeast_option
        )
        yeasts = [row for row in added if row.original.is_yeast_option]
        if ice := self._ice(yeasts):
            yield ice
        yield from (self._added(row, line, chosen) for row in yeasts)

    def _chosen(self, kits: Sequence[tuple[Lot, LotVerdict]]) -> Mapping[str, int]:
        """Return the items that the first kits to go were packed for, by key."""
        first = next((lot.pk for lot, verdict in kits if verdict.ready), None)
        packed = self.stock.batches.get(first or 0)
        return {key: row.item_id for key, row in packed.chosen.items()} if packed else {}

    def _added(self, added: Added, line: OrderLine, chosen: Mapping[str, int]) -> _Thing:
        usual = chosen.get(added.key, added.original.item_id)
        row = added.rows[usual]
        judged = [
            (lot, added_verdict(lot, added, line, self.way, self.stock))
            for item_id in (usual, *(each for each in added.rows if each != usual))
            for lot in self._of(item_id)
        ]
        judged = [
            (lot, verdict if lot.item_id == usual else replace(verdict, ready=False))
            for lot, verdict in judged
        ]
        grain = any(is_grain(lot) for lot, _ in judged)
        return _Thing(
            key=added.key,
            name=row.item_name,
            item_id=usual,
            measure=row.measure,
            per_box={item_id: each.packed for item_id, each in added.rows.items()},
            stands_in={item_id: each.stands_for for item_id, each in added.rows.items()},
            lots=_best_yeast_first(judged) if row.is_yeast_option else judged,
            is_yeast=row.is_yeast_option,
            asks=row.exact / row.packed if row.is_yeast_option else 0.0,
            pick=("crushed" if line.crushed else "whole") if grain else "",
        )

    def _ice(self, yeasts: Sequence[Added]) -> _Thing | None:
        """Return the ice of a box with liquid yeast; None: it carries none."""
        zone = self.order.zone
        liquid = any(row.original.item_id in self.stock.liquid for row in yeasts)
        packs = self.way.route.ice_packs_for(self.way.shipped_on, liquid_yeast=liquid)
        if zone is None or zone.ice_item is None or not packs:
            return None
        item = zone.ice_item
        lots = [(lot, ice_verdict(lot, self.way)) for lot in self._of(item.pk)]
        return _plain(ICE, item.name, item.pk, item.measure, packs, lots)

    def _of(self, item_id: int) -> Sequence[Lot]:
        return self.stock.lots.get(item_id, ())


def _plain(
    key: str,
    name: str,
    item_id: int,
    measure: str,
    per_box: int,
    lots: Sequence[tuple[Lot, LotVerdict]],
) -> _Thing:
    return _Thing(
        key=key,
        name=name,
        item_id=item_id,
        measure=measure,
        per_box={item_id: per_box},
        lots=lots,
    )


def _best_yeast_first(lots: Sequence[tuple[Lot, LotVerdict]]) -> list[tuple[Lot, LotVerdict]]:
    """Return the lots that reach the target as they come, then the others, the strongest first."""
    full = [row for row in lots if row[1].pitch and row[1].pitch.full]
    rest = [row for row in lots if row not in full]
    return full + sorted(rest, key=lambda row: -(row[1].pitch.pitched if row[1].pitch else 0.0))


def _left(line: OrderLine) -> int:
    return line.quantity - line.dispatched


def _ready(things: Sequence[_Thing], wanted: int, but: _Thing | None = None) -> int:
    counts = (boxes_in(thing.shares) for thing in things if thing is not but)
    return min(counts, default=wanted)


def _promised_before(order: CustomerOrder, stock: DispatchStock) -> Iterator[str]:
    """Yield what orders that are promised earlier will want of the items of this order."""
    names: dict[int, str] = {}
    for line in open_lines(order):
        thing = line.kit.item if line.kit else line.item
        if thing is not None:
            names[thing.pk] = thing.name
    wanted: dict[int, dict[str, int]] = defaultdict(dict)
    before = OrderLine.objects.filter(
        order__state=CustomerOrderState.OPEN, order__promised_on__lt=order.promised_on
    )
    for line in (
        before.exclude(order=order)
        .select_related("kit", "order")
        .order_by("order__promised_on", "order__code")
    ):
        item_id = line.kit.item_id if line.kit else line.item_id
        left = _left(line)
        if item_id in names and line.kit is not None and left:
            known = wanted[item_id]
            known[line.order.code] = known.get(line.order.code, 0) + left
    for item_id, orders in wanted.items():
        here = sum(lot.stock.on_hand - lot.stock.reserved for lot in stock.lots.get(item_id, ()))
        listed = ", ".join(orders)
        yield (
            f"{names[item_id]}: {sum(orders.values()):,} are promised earlier to {listed}, and "
            f"{here:,} are here."
        )
