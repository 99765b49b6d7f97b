"""What suppliers offer of the items of a plan, and the contracts with them."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from django.db.models import Case, F, Q, Sum, When
from django.db.models.functions import Coalesce

from inventory.models import Contract, PriceBreak, SupplierItem
from planning.engine.calendar import Delivery
from planning.engine.plan_input import PlanContract, PlanOffer
from planning.models import OrderState
from planning.queries.plan_kits import KnownItems


def plan_offers(known: KnownItems) -> tuple[PlanOffer, ...]:
    """Return what active suppliers offer, by item, the preferred offer first; two statements."""
    breaks: dict[int, list[tuple[int, int]]] = defaultdict(list)
    prices = PriceBreak.objects.order_by("offer", "from_packs")
    for offer_id, packs, price in prices.values_list("offer_id", "from_packs", "pack_price"):
        breaks[offer_id].append((packs, price))
    offers = SupplierItem.objects.filter(supplier__active=True).order_by(
        "item__code", "-preferred", "supplier__code", "pack_quantity"
    )
    return tuple(_offer(row, breaks.get(row["id"], ()), known) for row in offers.values(*_OFFER))


_OFFER = (
    "id", "item_id", "lead_days", "supplier__lead_days", "supplier__counts_working_days",
    "supplier__order_weekdays", "supplier_id", "supplier__code", "supplier__name",
    "supplier_code", "pack_quantity", "minimum_packs", "preferred",
)  # fmt: skip


def _offer(
    row: Mapping[str, Any], breaks: Sequence[tuple[int, int]], known: KnownItems
) -> PlanOffer:
    item, lead = known.place[row["item_id"]], row["lead_days"]
    return PlanOffer(
        offer_id=row["id"],
        item=item,
        supplier_id=row["supplier_id"],
        supplier_code=row["supplier__code"],
        supplier_name=row["supplier__name"],
        supplier_item_code=row["supplier_code"],
        pack_quantity=row["pack_quantity"],
        minimum_packs=row["minimum_packs"],
        breaks=tuple(breaks),
        preferred=row["preferred"],
        delivery=Delivery(
            lead_days=row["supplier__lead_days"] if lead is None else lead,
            counts_working_days=row["supplier__counts_working_days"],
            order_weekdays=row["supplier__order_weekdays"],
            quarantine_days=known.items[item].quarantine_days,
        ),
    )


def open_contracts(today: date) -> tuple[PlanContract, ...]:
    """Return the contracts of which something may still be called off; one statement.

    What was ordered against a contract is called off; of an order that ended, what came of it.
    """
    ordered = Case(When(lines__ended=True, then=F("lines__received")), default=F("lines__quantity"))
    standing = ~Q(lines__order__state__in=(OrderState.CANCELLED, OrderState.DRAFT))
    contracts = Contract.objects.filter(until_on__gte=today, offer__supplier__active=True)
    rows = contracts.annotate(called=Coalesce(Sum(ordered, filter=standing), 0))
    return tuple(
        PlanContract(
            code=code,
            offer_id=offer_id,
            left=quantity - int(called),
            pack_price=price,
            from_on=from_on,
            until_on=until_on,
        )
        for code, offer_id, quantity, called, price, from_on, until_on in rows.order_by(
            "from_on", "code"
        ).values_list("code", "offer_id", "quantity", "called", "pack_price", "from_on", "until_on")
        if quantity > called
    )
