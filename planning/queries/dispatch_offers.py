"""What is offered for an order on a day: lots for each kind of thing in the boxes of each line."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.models import Lot
from planning.models import CustomerOrder, OrderLine
from planning.queries.dispatch_lots import LotVerdict, Way


@dataclass(frozen=True, kw_only=True)
class LotOffer:
    """A lot that could go: what of it is free, what each box takes, and how many boxes it fills.

    ``boxes`` is what is proposed; of an extra, boxes are whole units of stock. ``stands_in`` names
    what the lot's item was approved to stand for.
    """

    lot: Lot
    free: int
    per_box: int
    fills: int
    boxes: int
    verdict: LotVerdict
    stands_in: str = ""


@dataclass(frozen=True, kw_only=True)
class RowChoice:
    """One kind of thing in the boxes of a line, and the lots it could come from.

    ``wanted`` is boxes; ``short`` those that no lot here fills; ``remedies`` what can be done.
    ``pick`` is the form in which it is picked: crushed, whole, or as it is.
    """

    key: str
    name: str
    item_id: int
    measure: str
    per_box: int
    wanted: int
    short: int
    offers: tuple[LotOffer, ...]
    remedies: tuple[str, ...]
    is_yeast: bool = False
    pick: str = ""

    @property
    def short_quantity(self) -> int:
        """What is short, in whole units of stock."""
        return self.short * self.per_box

    def offer(self, lot_id: int) -> LotOffer | None:
        """Return what is said of a lot; None: it is not of this thing."""
        return next((each for each in self.offers if each.lot.pk == lot_id), None)


@dataclass(frozen=True, kw_only=True)
class LineChoice:
    """What would leave of one line: ``ready`` of the ``wanted`` kits, or units of an extra."""

    line: OrderLine
    brew_on: date
    wanted: int
    ready: int
    rows: tuple[RowChoice, ...]

    @property
    def name(self) -> str:
        """The kit or the extra."""
        thing = self.line.kit.item if self.line.kit else self.line.item
        return str(thing.name) if thing else ""

    @property
    def title(self) -> str:
        """The kit with its options: crushed or whole where that is settled now, and its yeast."""
        picks = [row.pick for row in self.rows if row.pick][:1]
        yeast = self.line.yeast
        return ", ".join((self.name, *picks)) + (f", with {yeast.name}" if yeast else "")

    @property
    def lacking(self) -> tuple[RowChoice, ...]:
        """The things of which something is short."""
        return tuple(row for row in self.rows if row.short)

    def row(self, key: str) -> RowChoice | None:
        """Return what is chosen for one kind of thing."""
        return next((row for row in self.rows if row.key == key), None)


@dataclass(frozen=True, kw_only=True)
class OrderChoice:
    """What would leave for an order on one day.

    ``ships``: boxes leave for its zone on that day; ``next_ship_on`` is the first such day from it
    on. ``promised`` says what orders that were promised earlier will want of the same stock.
    """

    order: CustomerOrder
    way: Way
    ships: bool
    next_ship_on: date | None
    lines: tuple[LineChoice, ...]
    promised: tuple[str, ...] = ()

    @property
    def complete(self) -> bool:
        """Whether all that is open would leave."""
        return all(line.ready == line.wanted for line in self.lines)

    @property
    def anything(self) -> bool:
        """Whether anything would leave."""
        return any(line.ready for line in self.lines)

    def line(self, line_id: int) -> LineChoice | None:
        """Return one line."""
        return next((each for each in self.lines if each.line.pk == line_id), None)
