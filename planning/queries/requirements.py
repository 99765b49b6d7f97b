"""Requirements: what open runs take, what covers it, and what is missing by which day.

First form. Gross is what planned, reserved and packing runs still take: the frozen bill of each
line, its substitutes in place, with its overage, or, once a line is reserved, what its batches were
allotted; packed batches have taken theirs. Everything is wanted on the run's pack day, the parts
added at dispatch too, because a box can leave on that day at the earliest. Supply is the whole on
hand of released lots, reserved or not, on days they have not expired, and what is on order from its
due day on. Stock in quarantine or on hold is no supply and is told apart.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from django.db.models import F, Q

from boxwort.quantities import Measure
from inventory.models import Item, ItemKind, LotStatus, LotStock
from planning.engine.lots import LotSupply
from planning.engine.requirements import Need, Receipt, Requirement, Source, requirement
from planning.engine.usage import quantity_needed
from planning.models import Allocation, Batch, BatchState, OrderState, PurchaseLine, RunLine
from planning.models.runs import OPEN_STATES
from planning.queries.chosen_substitutes import chosen_substitutes, in_the_box
from recipes.models import Part
from recipes.queries.bills import BillRow, bills_of


@dataclass(frozen=True, kw_only=True)
class PegRow:
    """A quantity of one supply; ``reference`` is a lot, an order, or the day to buy it by."""

    source: Source
    reference: str
    quantity: int


@dataclass(frozen=True, kw_only=True)
class NeedRow:
    """What one run takes of an item, and what serves it; the pegs add up to the quantity."""

    run_code: str
    on: date
    quantity: int
    pegs: tuple[PegRow, ...]

    @property
    def to_buy(self) -> int:
        """What of it is covered by no lot and no order."""
        return sum(peg.quantity for peg in self.pegs if peg.source is Source.NET)


@dataclass(frozen=True, kw_only=True)
class MissingRow:
    """What must have arrived by ``on``, and the runs it is for; none: for the safety stock."""

    on: date
    quantity: int
    runs: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class RequirementRow:
    """One item's requirement, in whole units of stock.

    Attributes
    ----------
    usable: released and not expired today, reserved or not.
    quarantine, on_hold, expired: on hand, and no supply.
    goes_off: usable today, but left over on the day something is missing, because it expires.
    on_order: ordered and not received; ``late_orders`` should have come already.
    """

    item_id: int
    item_code: str
    item_name: str
    kind: ItemKind
    measure: Measure
    shelf_days: int | None
    safety_stock: int
    gross: int
    usable: int
    quarantine: int
    on_hold: int
    expired: int
    goes_off: int
    on_order: int
    late_orders: tuple[str, ...]
    needs: tuple[NeedRow, ...]
    missing: tuple[MissingRow, ...]

    @property
    def net(self) -> int:
        """Everything that must still be ordered."""
        return sum(row.quantity for row in self.missing)


@dataclass(frozen=True, kw_only=True)
class Gross:
    """Needs by item id, and the items themselves (those with a safety stock too)."""

    items: Mapping[int, Item]
    needs: Mapping[int, Sequence[Need]]


@dataclass(frozen=True, kw_only=True)
class _LotRow:
    supply: LotSupply
    status: LotStatus

    def expired(self, today: date) -> bool:
        return self.supply.last_day is not None and self.supply.last_day < today

    def counts(self, today: date) -> bool:
        return self.status is LotStatus.RELEASED and not self.expired(today)


def gross_requirements() -> Gross:
    """Return what the open runs still take of every item."""
    lines = list(
        RunLine.objects.filter(run__state__in=OPEN_STATES)
        .select_related("run", "kit")
        .order_by("run__pack_on", "run__code", "position")
    )
    bills = bills_of(sorted({line.kit_id for line in lines}))
    chosen = chosen_substitutes(lines)
    allotted = _allotted_quantities([line.pk for line in lines])
    totals: dict[tuple[int, str, date], int] = defaultdict(int)
    for line in lines:
        bill = in_the_box(bills[line.kit_id], line.yeast_id, chosen[line.pk])
        for item_id, quantity in _taken_by(line, bill, allotted.get(line.pk)):
            totals[item_id, line.run.code, line.run.pack_on] += quantity
    wanted = Q(pk__in={item_id for item_id, _, _ in totals})
    kept = Q(safety_stock__gt=0, active=True) & ~Q(kind=ItemKind.KIT)  # kits are made, not bought
    items = {item.pk: item for item in Item.objects.filter(wanted | kept)}
    needs: dict[int, list[Need]] = defaultdict(list)
    for (item_id, run_code, pack_on), quantity in totals.items():
        needs[item_id].append(
            Need(item=items[item_id].code, on=pack_on, quantity=quantity, run=run_code)
        )
    return Gross(items=items, needs=needs)


def requirement_rows(
    gross: Gross, *, on: date, lead_days: Mapping[int, int]
) -> tuple[RequirementRow, ...]:
    """Return every item's netting as of ``on``, by item code.

    A safety stock is asked for on every pack day and on the first day an order placed today
    would arrive (``lead_days`` by item id).
    """
    lots = _lots_on_hand(gross.items)
    receipts = _receipts(gross.items)
    rows = []
    for item in sorted(gross.items.values(), key=lambda item: item.code):
        needs = list(gross.needs.get(item.pk, ()))
        if item.safety_stock:
            arrives = on + timedelta(days=lead_days.get(item.pk, 0))
            needs.append(Need(item=item.code, on=arrives, quantity=0, run=""))
        netting = requirement(
            item=item.code,
            needs=needs,
            lots=[lot.supply for lot in lots[item.pk] if lot.counts(on)],
            receipts=receipts[item.pk],
            today=on,
            safety=item.safety_stock,
        )
        rows.append(_row(item, needs, netting, lots[item.pk], receipts[item.pk], on))
    return tuple(rows)


def _taken_by(
    line: RunLine, bill: Sequence[BillRow], allotted: Mapping[int, int] | None
) -> Iterator[tuple[int, int]]:
    """Yield item id and quantity of everything a run line still takes."""
    for row in bill:
        if allotted is None or row.part == Part.DISPATCH:
            yield row.item_id, quantity_needed(line.kits, row.packed, row.overage)
    if allotted is not None:
        yield from allotted.items()


def _allotted_quantities(line_ids: Sequence[int]) -> dict[int, dict[int, int]]:
    """Return, by run line that has batches, what those not yet packed were allotted by item."""
    batches = Batch.objects.filter(run_line__in=line_ids).exclude(state=BatchState.CANCELLED)
    found: dict[int, dict[int, int]] = {
        line_id: {} for line_id in batches.values_list("run_line_id", flat=True)
    }
    allocations = Allocation.objects.filter(
        current=True, batch__run_line__in=line_ids, batch__state=BatchState.RESERVED
    ).values_list("batch__run_line_id", "lot__item_id", "quantity")
    for line_id, item_id, quantity in allocations:
        found[line_id][item_id] = found[line_id].get(item_id, 0) + quantity
    return found


def _lots_on_hand(item_ids: Iterable[int]) -> dict[int, list[_LotRow]]:
    found: dict[int, list[_LotRow]] = defaultdict(list)
    stocks = LotStock.objects.filter(lot__item__in=list(item_ids), on_hand__gt=0)
    for stock in stocks.select_related("lot").order_by("lot__code"):
        lot = stock.lot
        supply = LotSupply(
            lot=lot.pk, code=lot.code, available=stock.on_hand, last_day=lot.best_before_on
        )
        found[lot.item_id].append(_LotRow(supply=supply, status=LotStatus(lot.status)))
    return found


def _receipts(items: Mapping[int, Item]) -> dict[int, list[Receipt]]:
    """Return what is on order; a fresh lot is taken to keep for the item's shelf days."""
    found: dict[int, list[Receipt]] = defaultdict(list)
    lines = PurchaseLine.objects.filter(
        order__state=OrderState.SENT, item__in=list(items), quantity__gt=F("received")
    )
    for line in lines.select_related("order").order_by("due_on", "order__code"):
        shelf_days = items[line.item_id].shelf_days
        found[line.item_id].append(
            Receipt(
                reference=line.order.code,
                on=line.due_on,
                quantity=line.quantity - line.received,
                last_day=None if shelf_days is None else line.due_on + timedelta(days=shelf_days),
            )
        )
    return found


def _row(
    item: Item,
    needs: Sequence[Need],
    netting: Requirement,
    lots: Sequence[_LotRow],
    receipts: Sequence[Receipt],
    on: date,
) -> RequirementRow:
    def held(status: LotStatus) -> int:
        return sum(lot.supply.available for lot in lots if lot.status is status)

    released = held(LotStatus.RELEASED)
    usable = sum(lot.supply.available for lot in lots if lot.counts(on))
    return RequirementRow(
        item_id=item.pk,
        item_code=item.code,
        item_name=item.name,
        kind=ItemKind(item.kind),
        measure=Measure(item.measure),
        shelf_days=item.shelf_days,
        safety_stock=item.safety_stock,
        gross=netting.gross,
        usable=usable,
        quarantine=held(LotStatus.QUARANTINE),
        on_hold=held(LotStatus.ON_HOLD),
        expired=released - usable,
        goes_off=_goes_off(netting, lots, on),
        on_order=sum(receipt.quantity for receipt in receipts),
        late_orders=netting.late,
        needs=tuple(_need_row(need, netting) for need in needs if need.run),
        missing=tuple(
            MissingRow(
                on=row.on,
                quantity=row.quantity,
                runs=tuple(dict.fromkeys(peg.run for peg in netting.served_by(row.on))),
            )
            for row in netting.net
        ),
    )


def _need_row(need: Need, netting: Requirement) -> NeedRow:
    return NeedRow(
        run_code=need.run,
        on=need.on,
        quantity=need.quantity,
        pegs=tuple(
            PegRow(source=peg.source, reference=peg.reference, quantity=peg.quantity)
            for peg in netting.pegs
            if peg.run == need.run and peg.on == need.on
        ),
    )


def _goes_off(netting: Requirement, lots: Sequence[_LotRow], today: date) -> int:
    """Return what is usable today and serves nothing, being expired when something is missing."""
    if not netting.net:
        return 0
    last = max(row.on for row in netting.net)
    used: dict[str, int] = defaultdict(int)
    for peg in netting.pegs:
        if peg.source is Source.LOT:
            used[peg.reference] += peg.quantity
    return sum(
        lot.supply.available - used[lot.supply.code]
        for lot in lots
        if lot.counts(today) and not lot.supply.usable(last)
    )
