"""Drafting what the purchase list proposes: one order for each supplier."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace
from datetime import date, timedelta

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Contract, Supplier, SupplierItem
from planning.models import OrderState, PurchaseOrder
from planning.queries.buying_lists import RUNS_LENGTH
from planning.queries.purchasing import PurchasePlan, SupplierPlan
from planning.services.purchase_orders import DraftLine, cancel_order, draft_order


@service
def draft_orders(
    *, by: User, plan: PurchasePlan, on: date, supplier_code: str = ""
) -> list[PurchaseOrder]:
    """Draft the orders that a plan proposes, or those to one supplier.

    The draft that a supplier has is written anew with what the plan says now. What a person added
    to it stays, unless the plan proposes the same item.

    Raises
    ------
    Refusal: ``nothing-to-order``, or what :func:`draft_order` refuses.
    """
    wanted = [
        supplier for supplier in plan.suppliers if supplier_code in ("", supplier.supplier_code)
    ]
    if not wanted:
        raise Refusal(
            "nothing-to-order",
            "The purchase list has nothing to order there.",
            "Open it again: it may have been ordered since.",
        )
    suppliers = Supplier.objects.in_bulk([supplier.supplier_id for supplier in wanted])
    return [
        draft_beside(
            by=by,
            supplier=suppliers[proposed.supplier_id],
            on=on,
            lines=_lines(proposed),
            planned_stay=False,
        )
        for proposed in sorted(wanted, key=lambda supplier: supplier.supplier_id)
    ]


@service
def draft_beside(
    *,
    by: User,
    supplier: Supplier,
    on: date,
    lines: Sequence[DraftLine],
    planned_stay: bool,
    without: Collection[int] = (),
) -> PurchaseOrder:
    """Write lines into the draft of a supplier, in the place of what it holds of the same items.

    ``planned_stay``: whether lines of other items that a plan proposed before stay as well.
    ``without``: items of which nothing stays. A draft that is left with nothing is cancelled.

    Raises
    ------
    Refusal: as :func:`draft_order`.
    """
    Supplier.objects.select_for_update().get(pk=supplier.pk)  # what stays is read once
    items = {line.offer.item_id for line in lines}.union(without)
    standing = PurchaseOrder.objects.filter(supplier=supplier, state=OrderState.DRAFT)
    order = standing.order_by("code").first()
    kept = [
        line
        for line in (standing_lines(order).values() if order else ())
        if line.offer.item_id not in items and (planned_stay or line.order_by is None)
    ]
    if order and not kept and not lines:
        cancel_order(by=by, order=order, expected=order.version, reason="Every line was dropped")
        return order
    return draft_order(by=by, supplier=supplier, on=on, lines=[*kept, *apart(lines)])


def standing_lines(order: PurchaseOrder) -> dict[int, DraftLine]:
    """Return the lines of an order that name an offer, by their ids, as they could be drafted."""
    lines = order.lines.select_related("offer__item", "contract").order_by("pk")
    return {
        line.pk: DraftLine(
            offer=line.offer,
            packs=line.quantity // line.offer.pack_quantity,
            due_on=line.due_on,
            pack_price=line.pack_price,
            contract=line.contract,
            need_by=line.need_by,
            order_by=line.order_by,
            runs=line.runs,
        )
        for line in lines
        if line.offer is not None
    }


def apart(lines: Iterable[DraftLine]) -> list[DraftLine]:
    """Return the lines so that none is of the same item for the same day as another.

    What is the same offer under the same contract is added up; the rest is expected a day later.
    """
    found: dict[tuple[int, date], DraftLine] = {}
    for line in lines:
        wanted = line
        while (other := found.get(key := (wanted.offer.item_id, wanted.due_on))) is not None:
            if (other.offer, other.contract) == (wanted.offer, wanted.contract):
                wanted = _added(other, wanted)
                break
            wanted = replace(wanted, due_on=wanted.due_on + timedelta(days=1))
        found[key] = wanted
    return list(found.values())


def _added(one: DraftLine, other: DraftLine) -> DraftLine:
    runs = dict.fromkeys(name for line in (one, other) for name in line.runs.split(", ") if name)
    return replace(
        one,
        packs=one.packs + other.packs,
        pack_price=one.pack_price if one.pack_price == other.pack_price else None,
        need_by=min((day for day in (one.need_by, other.need_by) if day), default=None),
        order_by=min((day for day in (one.order_by, other.order_by) if day), default=None),
        runs=", ".join(runs)[:RUNS_LENGTH],
    )


def _lines(plan: SupplierPlan) -> list[DraftLine]:
    offers = SupplierItem.objects.select_related("item").in_bulk(
        [row.offer_id for row in plan.lines]
    )
    codes = {row.contract for row in plan.lines if row.contract}
    contracts = {row.code: row for row in Contract.objects.filter(code__in=codes)}
    return [
        DraftLine(
            offer=offers[row.offer_id],
            packs=row.packs,
            due_on=row.expected_on,
            pack_price=row.pack_price,
            contract=contracts.get(row.contract),
            need_by=row.need_by,
            order_by=row.order_by,
            runs=", ".join(row.runs)[:RUNS_LENGTH],
        )
        for row in plan.lines
    ]
