"""From what is net of an item to orders: from whom, in which packs, on which contract, by when.

What a contract still holds is called off first, for needs that can be delivered between its days.
The rest is bought from the preferred offer, else from the cheapest for all of it, then the
quickest. Each order states which part of the net row it covers, bucket by bucket.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import timedelta

import numpy as np

from planning.engine.calendar import OrderDays
from planning.engine.least_cost import is_plain, plain_orders
from planning.engine.plan_input import IntArray, PlanContract, PlanInput, PlanItem, PlanOffer
from planning.engine.rules import LEAST_COST, LotSizing
from planning.engine.sizing import SizedOrder, holding_cost, sized


@dataclass(frozen=True, kw_only=True, eq=False)
class Buy:
    """An order to place; money is ten-thousandths.

    Attributes
    ----------
    contract: the code of the contract it is called off; "": none.
    pack_price: of a pack at this number of packs; None: the offer has no price.
    net: what it covers of the net row, whole units.
    reasons: why it is not exactly what is net.
    """

    item: int
    offer: PlanOffer
    contract: str
    packs: int
    quantity: int
    cost: int
    pack_price: int | None
    bucket: int
    net: int
    days: OrderDays
    reasons: tuple[str, ...]


def bought(
    given: PlanInput, lacking: Mapping[int, IntArray], offers: Mapping[int, Sequence[PlanOffer]]
) -> tuple[Buy, ...]:
    """Return the orders for the net rows of the items that anybody offers, by item and day."""
    offered = {item: net for item, net in lacking.items() if offers.get(item)}
    planned = _least_cost(given, offered, offers)
    return tuple(
        buy
        for item, net in offered.items()
        for buy in _bought(given, item, net, offers[item], planned)
    )


_Planned = Mapping[int, Mapping[int, int]]
"""The packs of least cost by offer and bucket."""


def _least_cost(
    given: PlanInput, lacking: Mapping[int, IntArray], offers: Mapping[int, Sequence[PlanOffer]]
) -> _Planned:
    """Return the orders of least cost of all items for which they can be reckoned together.

    Where a contract is called off first, less is left to be ordered than is known here.
    """
    called = {contract.offer_id for contract in given.contracts}
    asked = [
        (offer.offer_id, net, rule_of(given, given.items[item], offer))
        for item, net in lacking.items()
        if given.items[item].lot_rule == LEAST_COST
        and called.isdisjoint(offer.offer_id for offer in offers[item])
        for offer in first_choice(offers[item])
    ]
    plain = [row for row in asked if is_plain(row[2], given.buckets)]
    if not plain:
        return {}
    ids, nets, rules = zip(*plain, strict=True)
    return dict(zip(ids, plain_orders(np.array(nets), rules), strict=True))


def _bought(
    given: PlanInput,
    item: int,
    net: IntArray,
    offers: Sequence[PlanOffer],
    planned: _Planned,
) -> tuple[Buy, ...]:
    """Return the orders for a net row from these offers, of which there is at least one."""
    found: list[Buy] = []
    by_id = {offer.offer_id: offer for offer in offers}
    for contract in given.contracts:
        if contract.offer_id in by_id and net.any():
            called, net = _called_off(given, item, net, by_id[contract.offer_id], contract)
            found += called
    if net.any():
        choices = [
            _ordered(given, item, net, offer, planned.get(offer.offer_id))
            for offer in first_choice(offers)
        ]
        found += min(choices, key=_worth)
    return tuple(sorted(found, key=lambda buy: buy.bucket))


def first_choice(offers: Sequence[PlanOffer]) -> Sequence[PlanOffer]:
    """Return the preferred offer, or all of them."""
    return [offer for offer in offers if offer.preferred] or offers


def _worth(orders: Iterable[Buy]) -> tuple[bool, int, int, str]:
    """Return what makes an offer better: a price, a low one, a short lead."""
    found = list(orders)
    offer, cost = found[0].offer, sum(buy.cost for buy in found)
    return not offer.breaks, cost, offer.delivery.lead_days, offer.supplier_code


def rule_of(given: PlanInput, item: PlanItem, offer: PlanOffer) -> LotSizing:
    """Return how an item is ordered from an offer."""
    breaks = offer.breaks or ((1, 0),)
    keeps = None
    if item.shelf_days is not None:
        keeps = max(0, item.shelf_days - item.quarantine_days)
    return LotSizing(
        pack_quantity=offer.pack_quantity,
        minimum_packs=offer.minimum_packs,
        breaks=breaks,
        kind=item.lot_rule,
        quantity=item.fixed_quantity or 0,
        period=item.period_days,
        order_cost=item.order_cost,
        holding=holding_cost(
            share_a_year=given.house.holding_share,
            price=breaks[0][1],
            quantity=offer.pack_quantity,
            days=1,
        ),
        keeps=keeps,
    )


def _ordered(
    given: PlanInput,
    item: int,
    net: IntArray,
    offer: PlanOffer,
    planned: Mapping[int, int] | None,
) -> list[Buy]:
    rule = rule_of(given, given.items[item], offer)
    orders = sized(net, rule, planned)
    return [
        _buy(given, item, offer, order, end - begin, _prices(offer, order))
        for order, (begin, end) in zip(orders, _covered(net, orders, rule), strict=True)
    ]


def _prices(offer: PlanOffer, order: SizedOrder) -> tuple[int | None, tuple[str, ...]]:
    if offer.breaks:
        return order.cost // order.packs, order.reasons
    told = f"{offer.supplier_name} has given no price: ask for one and add it to the offer."
    return None, (*order.reasons, told)


def _buy(
    given: PlanInput,
    item: int,
    offer: PlanOffer,
    order: SizedOrder,
    covered: int,
    priced: tuple[int | None, tuple[str, ...]],
    contract: str = "",
) -> Buy:
    price, reasons = priced
    return Buy(
        item=item,
        offer=offer,
        contract=contract,
        packs=order.packs,
        quantity=order.quantity,
        cost=order.packs * price if price is not None and contract else order.cost,
        pack_price=price,
        bucket=order.bucket,
        net=covered,
        days=days_of(given, offer, order.bucket),
        reasons=reasons,
    )


def days_of(given: PlanInput, offer: PlanOffer, bucket: int) -> OrderDays:
    """Return by when to order from an offer what must be usable in a bucket."""
    return given.order_days(offer.delivery, bucket)


def _covered(
    net: IntArray, orders: Sequence[SizedOrder], rule: LotSizing
) -> Iterator[tuple[int, int]]:
    """Yield from where to where each order covers all that is needed, counted from the first day.

    What is left of one order goes before the next.
    """
    total = [0, *np.cumsum(net).tolist()]
    start = 0
    for order in orders:
        start = max(start, total[order.bucket])
        last = min(order.bucket + rule.lasts(len(net)), len(net))
        end = max(start, min(start + order.quantity, total[last]))
        yield start, end
        start = end


def _called_off(
    given: PlanInput, item: int, net: IntArray, offer: PlanOffer, contract: PlanContract
) -> tuple[list[Buy], IntArray]:
    """Return what is called off a contract, and the net row that is left."""
    rule = rule_of(given, given.items[item], offer)
    rule = replace(rule, minimum_packs=1, breaks=_called_prices(rule, contract))
    delay = given.items[item].quarantine_days
    first = given.bucket(contract.from_on + timedelta(days=delay))
    last = (contract.until_on - given.today).days + delay
    inside = net.copy()
    inside[:first] = 0
    inside[max(last + 1, 0) :] = 0
    left, found = contract.left, []
    told, called = [], []
    for order in sized(inside, rule):
        packs = min(order.packs, left // offer.pack_quantity)
        if not packs:
            break
        quantity = packs * offer.pack_quantity
        left -= quantity
        told.append((*order.reasons, _told(contract, packs, order)))
        called.append(replace(order, packs=packs, quantity=quantity))
    # what is left over of the last one serves what is needed after the contract ends
    total = np.concatenate(([0], np.cumsum(net)))
    covered = _covered(net, called, rule)
    for order, reasons, (begin, end) in zip(called, told, covered, strict=True):
        priced = rule.cost(order.packs) // order.packs, reasons
        found.append(_buy(given, item, offer, order, end - begin, priced, contract.code))
        net = net - np.diff(np.clip(total, begin, end))
    return found, net


def _called_prices(rule: LotSizing, contract: PlanContract) -> tuple[tuple[int, int], ...]:
    """Return the price breaks of a call-off, of which the first holds from one pack on."""
    if contract.pack_price is not None:
        return ((1, contract.pack_price),)
    (_, price), *others = sorted(rule.breaks)
    return ((1, price), *others)


def _told(contract: PlanContract, packs: int, order: SizedOrder) -> str:
    if packs < order.packs:
        return f"Called off contract {contract.code}, which holds no more."
    return f"Called off contract {contract.code}."
