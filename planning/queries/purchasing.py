"""The purchase plan: what to order from whom, in whole packs, by when and for which runs.

What is missing of an item becomes one order, due when the first of it is needed, for as long as a
fresh lot keeps (the item's shelf days); what is needed later than that is an order of its own. The
preferred offer is taken, else the cheapest for that amount, then the quickest.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.accounts.queries import site_settings
from boxwort.figures import on_date
from boxwort.quantities import Measure, read_naturally
from inventory.queries.offers import OfferRow, offers_for
from planning.engine.purchase import PackOffer, PackOrder, pack_order
from planning.queries.requirements import (
    MissingRow,
    RequirementRow,
    gross_requirements,
    requirement_rows,
)


@dataclass(frozen=True, kw_only=True)
class PurchaseRow:
    """One line of a supplier's list. Quantities are whole units of stock, money ten-thousandths.

    Attributes
    ----------
    needed, on_hand, on_order: of the item in all, as the requirement has them.
    net: what this line covers.
    pack_price: price of a pack at this number of packs; None: the offer has no price.
    arrives_on: when it comes if it is ordered on the plan's day.
    runs: the runs it is for; none: for the safety stock.
    reasons: why it is more than the net requirement, or late.
    advice: what can be done when it should have been ordered before today.
    """

    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    supplier_item_code: str
    needed: int
    on_hand: int
    on_order: int
    net: int
    pack_quantity: int
    packs: int
    quantity: int
    pack_price: int | None
    cost: int
    need_by: date
    order_by: date
    arrives_on: date
    past_due: bool
    runs: tuple[str, ...]
    reasons: tuple[str, ...]
    advice: tuple[str, ...]


@dataclass(frozen=True, kw_only=True)
class SupplierPlan:
    """What to order from one supplier."""

    supplier_id: int
    supplier_code: str
    supplier_name: str
    lines: tuple[PurchaseRow, ...]

    @property
    def total(self) -> int:
        """Ten-thousandths of the currency, without lines that have no price."""
        return sum(line.cost for line in self.lines)

    @property
    def order_by(self) -> date:
        """The earliest day by which a line must be ordered."""
        return min(line.order_by for line in self.lines)

    @property
    def past_due(self) -> int:
        """How many lines should have been ordered before today."""
        return sum(line.past_due for line in self.lines)


@dataclass(frozen=True, kw_only=True)
class UnofferedRow:
    """An item that is missing and that no supplier offers."""

    item_id: int
    item_code: str
    item_name: str
    measure: Measure
    net: int
    need_by: date
    runs: tuple[str, ...]
    remedy: str


@dataclass(frozen=True, kw_only=True)
class RunNeedsRow:
    """A run seen from the purchase list: the items it waits for, with the missing quantity."""

    run_code: str
    pack_on: date
    items: tuple[tuple[RequirementRow, int], ...]


@dataclass(frozen=True, kw_only=True)
class PurchasePlan:
    """The requirements of every item as of ``on``, and what to buy for them."""

    on: date
    producer: str
    currency: str
    items: tuple[RequirementRow, ...]
    suppliers: tuple[SupplierPlan, ...]
    unoffered: tuple[UnofferedRow, ...]
    runs: tuple[RunNeedsRow, ...]

    @property
    def total(self) -> int:
        """Ten-thousandths of the currency over all suppliers."""
        return sum(supplier.total for supplier in self.suppliers)


def purchase_plan(on: date) -> PurchasePlan:
    """Return what the open runs need and what must be bought for them, as of ``on``."""
    site = site_settings()
    gross = gross_requirements()
    offers = offers_for(sorted(gross.items))
    lead_days = {
        item_id: min(offer.lead_days for offer in _first_choice(found))
        for item_id, found in offers.items()
        if found
    }
    items = requirement_rows(gross, on=on, lead_days=lead_days)
    missing = [item for item in items if item.net]
    return PurchasePlan(
        on=on,
        producer=site.producer,
        currency=site.currency,
        items=items,
        suppliers=_suppliers(missing, offers, on),
        unoffered=tuple(_unoffered(item) for item in missing if not offers.get(item.item_id)),
        runs=_runs(missing),
    )


def _first_choice(offers: Sequence[OfferRow]) -> Sequence[OfferRow]:
    return [offer for offer in offers if offer.preferred] or offers


def _suppliers(
    missing: Iterable[RequirementRow], offers: Mapping[int, Sequence[OfferRow]], on: date
) -> tuple[SupplierPlan, ...]:
    lines: dict[tuple[str, int, str], list[PurchaseRow]] = defaultdict(list)
    for item in missing:
        choices = offers.get(item.item_id, ())
        for group in _groups(item) if choices else ():
            offer, line = _purchase(item, group, choices, on)
            lines[offer.supplier_code, offer.supplier_id, offer.supplier_name].append(line)
    return tuple(
        SupplierPlan(
            supplier_id=supplier_id,
            supplier_code=code,
            supplier_name=name,
            lines=tuple(sorted(found, key=lambda line: (line.order_by, line.item_code))),
        )
        for (code, supplier_id, name), found in sorted(lines.items())
    )


def _groups(item: RequirementRow) -> Iterator[list[MissingRow]]:
    """Yield what is missing in the parts that one fresh delivery can each serve."""
    group: list[MissingRow] = []
    for row in item.missing:
        keeps = item.shelf_days is None or not group
        if not keeps and row.on > group[0].on + timedelta(days=item.shelf_days or 0):
            yield group
            group = []
        group.append(row)
    if group:
        yield group


def _purchase(
    item: RequirementRow, group: Sequence[MissingRow], offers: Sequence[OfferRow], on: date
) -> tuple[OfferRow, PurchaseRow]:
    net = sum(row.quantity for row in group)
    need_by = min(row.on for row in group)
    orders = [
        (offer, pack_order(net=net, offer=_pack_offer(offer), need_by=need_by, today=on))
        for offer in _first_choice(offers)
    ]
    offer, order = min(
        orders,
        key=lambda pair: (
            not pair[0].breaks,
            pair[1].cost_ten_thousandths,
            pair[0].lead_days,
            pair[0].supplier_code,
        ),
    )
    runs = tuple(dict.fromkeys(run for row in group for run in row.runs))
    arrives_on = on + timedelta(days=offer.lead_days)
    return offer, PurchaseRow(
        item_id=item.item_id,
        item_code=item.item_code,
        item_name=item.item_name,
        measure=item.measure,
        supplier_item_code=offer.supplier_item_code,
        needed=item.gross,
        on_hand=item.usable,
        on_order=item.on_order,
        net=net,
        pack_quantity=offer.pack_quantity,
        packs=order.packs,
        quantity=order.quantity,
        pack_price=order.cost_ten_thousandths // order.packs if offer.breaks else None,
        cost=order.cost_ten_thousandths,
        need_by=order.need_by,
        order_by=order.order_by,
        arrives_on=arrives_on,
        past_due=order.past_due,
        runs=runs,
        reasons=(*order.reasons, *_no_price(offer)),
        advice=tuple(_advice(item, order, arrives_on, runs, offers, on)) if order.past_due else (),
    )


def _pack_offer(offer: OfferRow) -> PackOffer:
    return PackOffer(
        pack_quantity=offer.pack_quantity,
        minimum_packs=offer.minimum_packs,
        breaks=offer.breaks or ((1, 0),),
        lead_days=offer.lead_days,
    )


def _no_price(offer: OfferRow) -> Iterator[str]:
    if not offer.breaks:
        yield f"{offer.supplier_name} has given no price: ask for one and add it to the offer."


def _advice(
    item: RequirementRow,
    order: PackOrder,
    arrives_on: date,
    runs: Sequence[str],
    offers: Sequence[OfferRow],
    on: date,
) -> Iterator[str]:
    """Yield what can be done about an order that should have gone before today."""
    if not runs:
        yield "No run waits for it: only the safety stock is touched until it arrives."
    if item.quarantine:
        waiting = read_naturally(item.quarantine, item.measure)
        yield f"{waiting} waits in quarantine: release it if its certificate is good."
    in_time = {
        offer.supplier_name: offer.lead_days
        for offer in offers
        if on + timedelta(days=offer.lead_days) <= order.need_by
    }
    for name, lead_days in sorted(in_time.items()):
        yield f"{name} delivers in {lead_days} days, in time: order it there."
    if runs and not in_time:
        listed = ", ".join(runs)
        yield f"Ask for faster delivery, or move {listed} to {on_date(arrives_on)} or later."


def _unoffered(item: RequirementRow) -> UnofferedRow:
    return UnofferedRow(
        item_id=item.item_id,
        item_code=item.item_code,
        item_name=item.item_name,
        measure=item.measure,
        net=item.net,
        need_by=item.missing[0].on,
        runs=tuple(dict.fromkeys(run for row in item.missing for run in row.runs)),
        remedy=f"No supplier offers {item.item_name} ({item.item_code}): add an offer with its "
        "pack, lead time and price.",
    )


def _runs(missing: Iterable[RequirementRow]) -> tuple[RunNeedsRow, ...]:
    """Return the runs that wait for something, in the order of their pack days."""
    found: dict[tuple[date, str], list[tuple[RequirementRow, int]]] = defaultdict(list)
    for item in missing:
        for need in item.needs:
            if need.to_buy:
                found[need.on, need.run_code].append((item, need.to_buy))
    return tuple(
        RunNeedsRow(run_code=code, pack_on=pack_on, items=tuple(items))
        for (pack_on, code), items in sorted(found.items(), key=lambda pair: pair[0])
    )
