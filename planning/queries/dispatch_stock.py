"""What dispatch needs to know of stock: the lots that orders could take, and what is in them.

Lots that cannot go are among them, so that it can be said why. A fixed number of statements,
however many orders.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from django.db.models import F, Prefetch, QuerySet

from boxwort.accounts.models import SiteSettings
from boxwort.accounts.queries import site_settings
from boxwort.figures import on_date
from inventory.models import ItemKind, Lot, YeastForm, YeastSpec
from inventory.queries.yeasts import YeastLives, yeast_lives
from planning.engine.calendar import WorkingDays
from planning.models import (
    ON_ORDER,
    Allocation,
    Batch,
    CustomerOrder,
    OrderLine,
    PurchaseLine,
    RunLine,
)
from planning.models.runs import OPEN_STATES
from planning.queries.chosen_substitutes import Approved, Chosen, chosen_substitutes
from planning.queries.routes import working_days
from recipes.models import Part
from recipes.queries.bills import (
    BillRow,
    bill_substitutes,
    bills_of,
    with_one_yeast,
    with_substitutes,
)

KIT, EXTRA, ICE = "kit", "extra", "ice"
"""What is taken beside the rows of a kit's bill, in the place of their keys."""


@dataclass(frozen=True, kw_only=True)
class Added:
    """Something added to each box: the row of the bill, or those of its approved substitutes.

    ``rows`` is by item, the original first; ``measure`` is of them all.
    """

    key: str
    rows: Mapping[int, BillRow]

    @property
    def original(self) -> BillRow:
        """The row of the bill itself."""
        return next(iter(self.rows.values()))


@dataclass(frozen=True, kw_only=True)
class BatchFacts:
    """What was packed into a lot of kits.

    ``yeast_id`` is the yeast packed into it; None: it holds none. ``chosen`` is what its run line
    uses in place of rows of the bill, those added at dispatch among them.
    """

    batch_id: int
    yeast_id: int | None
    chosen: Chosen


class Coming(NamedTuple):
    """What is still to come of an item: whole units of stock, and from where in words."""

    quantity: int
    said: str


@dataclass(frozen=True, kw_only=True)
class DispatchStock:
    """Lots by item, the first expired first, and all that a choice among them asks."""

    site: SiteSettings
    calendar: WorkingDays
    lots: Mapping[int, Sequence[Lot]]
    added: Mapping[int, tuple[Added, ...]]
    batches: Mapping[int, BatchFacts]
    yeasts: YeastLives
    liquid: frozenset[int]
    coming: Mapping[int, Sequence[Coming]]

    def free(self) -> dict[int, int]:
        """Return what is free of each lot, in whole units of stock."""
        return {
            lot.pk: lot.stock.on_hand - lot.stock.reserved
            for lots in self.lots.values()
            for lot in lots
        }


def orders_in_full() -> QuerySet[CustomerOrder]:
    """Return orders with all that a dispatch asks of them, in the order of their promises."""
    lines = OrderLine.objects.select_related("kit__item", "item", "yeast").order_by("position")
    return (
        CustomerOrder.objects.select_related("zone__ice_item")
        .prefetch_related(Prefetch("lines", lines))
        .order_by("promised_on", "code")
    )


def open_lines(order: CustomerOrder) -> list[OrderLine]:
    """Return the lines of an order of which something has still to leave."""
    return [line for line in order.lines.all() if line.quantity > line.dispatched]


def dispatch_stock(orders: Sequence[CustomerOrder]) -> DispatchStock:
    """Return the stock for orders that were read by :func:`orders_in_full`."""
    lines = [line for order in orders for line in open_lines(order)]
    kits = {line.kit_id for line in lines if line.kit_id is not None}
    bills, approved = bills_of(kits), bill_substitutes(kits)
    added = {line.pk: _added(line, bills, approved) for line in lines}
    items = {line.kit.item_id for line in lines if line.kit} | {
        line.item_id for line in lines if line.item_id is not None
    }
    items |= {item for rows in added.values() for row in rows for item in row.rows}
    items |= {order.zone.ice_item_id for order in orders if order.zone and order.zone.ice_item_id}
    lots = _lots(items)
    yeasts = yeast_lives(
        lot.pk for held in lots.values() for lot in held if lot.item.kind == ItemKind.YEAST
    )
    site = site_settings()
    liquid = YeastSpec.objects.filter(item__in=items, form=YeastForm.LIQUID)
    return DispatchStock(
        site=site,
        calendar=working_days(site),
        lots=lots,
        added=added,
        batches=_batches(lots, approved),
        yeasts=yeasts,
        liquid=frozenset(liquid.values_list("item_id", flat=True)),
        coming=_coming(items),
    )


def _added(
    line: OrderLine, bills: Mapping[int, list[BillRow]], approved: Approved
) -> tuple[Added, ...]:
    """Return what is added to the boxes of a line; an extra has nothing added."""
    if line.kit_id is None:
        return ()
    rows = with_one_yeast(bills[line.kit_id], line.yeast_id)
    found = []
    for row in (row for row in rows if row.part == Part.DISPATCH):
        stand_ins = [
            with_substitutes([row], {row.key: substitute})[0]
            for substitute in approved[line.kit_id].get(row.key, ())
        ]
        found.append(Added(key=row.key, rows={each.item_id: each for each in (row, *stand_ins)}))
    return tuple(found)


def _lots(items: Iterable[int]) -> dict[int, list[Lot]]:
    found: dict[int, list[Lot]] = defaultdict(list)
    rows = Lot.objects.filter(item__in=list(items), stock__on_hand__gt=0)
    for lot in rows.select_related("item", "stock").order_by(
        F("best_before_on").asc(nulls_last=True), "received_on", "pk"
    ):
        found[lot.item_id].append(lot)
    return dict(found)


def _batches(lots: Mapping[int, Sequence[Lot]], approved: Approved) -> dict[int, BatchFacts]:
    """Return what was packed into the lots of kits, by lot; three statements at most."""
    made = {
        lot.made_by_id: lot.pk
        for held in lots.values()
        for lot in held
        if lot.item.kind == ItemKind.KIT and lot.made_by_id is not None
    }
    batches = list(Batch.objects.filter(conversion__in=made).select_related("run_line"))
    yeasts = dict(
        Allocation.objects.filter(
            batch__in=batches, current=True, bill_line__is_yeast_option=True
        ).values_list("batch_id", "bill_line__item_id")
    )
    known = {batch.run_line_id: batch.run_line for batch in batches}
    chosen = chosen_substitutes(_known(known.values(), approved), approved)
    return {
        made[batch.conversion_id]: BatchFacts(
            batch_id=batch.pk,
            yeast_id=yeasts.get(batch.pk),
            chosen=chosen.get(batch.run_line_id, {}),
        )
        for batch in batches
    }


def _known(lines: Iterable[RunLine], approved: Approved) -> list[RunLine]:
    """Return the run lines of kits that were ordered; a hop pack's batch adds nothing."""
    return [line for line in lines if line.kit_id in approved]


def _coming(items: Iterable[int]) -> dict[int, list[Coming]]:
    """Return what is still to come of each item: runs that pack it, and purchase orders."""
    found: dict[int, list[Coming]] = defaultdict(list)
    runs = RunLine.objects.filter(run__state__in=OPEN_STATES, kit__item__in=list(items))
    for line in runs.select_related("run", "kit").order_by("run__pack_on", "pk"):
        said = f"Run {line.run.code} packs {line.kits:,} on {on_date(line.run.pack_on)}."
        found[line.kit.item_id].append(Coming(line.kits, said))
    bought = PurchaseLine.objects.filter(
        item__in=list(items), order__state__in=ON_ORDER, ended=False, quantity__gt=F("received")
    )
    for row in bought.select_related("order").order_by("due_on", "pk"):
        said = f"Purchase order {row.order.code} is due on {on_date(row.due_on)}."
        found[row.item_id].append(Coming(row.quantity - row.received, said))
    return dict(found)
