"""Taking over a buying list that came back: all of it, or nothing."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Supplier, SupplierItem
from inventory.services.catalogue import write_offer
from planning.models import PurchaseOrder
from planning.queries.list_changes import ListChange, ListDifference
from planning.queries.list_differences import list_difference
from planning.services.confirming import Confirmed, confirm_lines
from planning.services.drafting import apart, draft_beside, standing_lines
from planning.services.purchase_orders import DraftLine, change_draft
from planning.services.uploads import upload


@service
def take_list_over(
    *, by: User, digest: str, fingerprint: str, on: date, with_prices: bool = False
) -> list[str]:
    """Write what a kept list changes, and return the codes of the orders it changed.

    Lines of drafts and of sent orders are changed; what is only suggested becomes lines of the
    supplier's draft. ``fingerprint`` is of the difference a person saw. ``with_prices``: other
    prices than those of the offers are taken over into the offers.

    Raises
    ------
    Refusal: ``list-with-problems``, ``list-changes-nothing``, ``list-seen-otherwise``,
        ``upload-gone``, or what changing an order refuses.
    """
    found = list_difference(upload(digest), on)
    _refuse(found, fingerprint, with_prices=with_prices)
    codes = [
        *_change_orders(by, found.changes),
        *_draft_suggested(by, found.changes, on),
    ]
    if with_prices:
        _take_prices(by, found.changes)
    return codes


def _refuse(found: ListDifference, fingerprint: str, *, with_prices: bool) -> None:
    if found.problems:
        first = found.problems[0]
        raise Refusal(
            "list-with-problems",
            f"The list is wrong in {len(found.problems)} places, first at {first.sheet} "
            f"{first.cell}: {first.what}",
            "Correct it and send it again; nothing of it was taken over.",
        )
    if found.fingerprint != fingerprint:
        raise Refusal(
            "list-seen-otherwise",
            "The orders have changed since the difference was shown.",
            "Look the difference over again.",
        )
    if not found.changed and not (with_prices and found.prices):
        raise Refusal(
            "list-changes-nothing",
            "The list says what the orders say.",
            "Change packs, prices or days in it, and send it again.",
        )


def _change_orders(by: User, changes: Sequence[ListChange]) -> list[str]:
    by_order: dict[int, list[ListChange]] = defaultdict(list)
    for change in changes:
        if change.order_id is not None and change.kind != "same":
            by_order[change.order_id].append(change)
    codes = []
    for order_id in sorted(by_order):
        order = PurchaseOrder.objects.get(pk=order_id)
        if by_order[order_id][0].is_sent:
            _confirm(by, order, by_order[order_id])
        else:
            _change(by, order, by_order[order_id])
        codes.append(order.code)
    return codes


def _confirm(by: User, order: PurchaseOrder, changes: Sequence[ListChange]) -> None:
    confirmed = {}
    for change in changes:
        now, was = change.now, change.was
        if now is not None and was is not None and change.line_id is not None:
            confirmed[change.line_id] = Confirmed(
                due_on=now.expected_on,
                packs=now.packs if now.packs != was.packs else None,
                pack_price=now.pack_price if now.pack_price != was.pack_price else None,
            )
    confirm_lines(by=by, order=order, expected=changes[0].version, lines=confirmed)


def _change(by: User, order: PurchaseOrder, changes: Sequence[ListChange]) -> None:
    lines = standing_lines(order)
    for change in changes:
        if change.line_id is None:
            continue
        if change.now is None:
            lines.pop(change.line_id)
        elif change.now.packs is not None:
            lines[change.line_id] = replace(
                lines[change.line_id],
                packs=change.now.packs,
                pack_price=change.now.pack_price,
                due_on=change.now.expected_on,
            )
    change_draft(by=by, order=order, expected=changes[0].version, lines=apart(lines.values()))


def _draft_suggested(by: User, changes: Sequence[ListChange], on: date) -> list[str]:
    by_supplier: dict[int, list[ListChange]] = defaultdict(list)
    for change in changes:
        if change.order_id is None:
            by_supplier[change.supplier_id].append(change)
    codes = []
    for supplier_id in sorted(by_supplier):
        rows = by_supplier[supplier_id]
        if any(row.kind in ("new", "changed", "dropped") for row in rows):
            order = draft_beside(
                by=by,
                supplier=Supplier.objects.get(pk=supplier_id),
                on=on,
                lines=_suggested(rows),
                planned_stay=True,
                without={row.item_id for row in rows if row.kind == "dropped"},
            )
            codes.append(order.code)
    return codes


def _suggested(changes: Sequence[ListChange]) -> list[DraftLine]:
    offers = SupplierItem.objects.select_related("item").in_bulk(
        [change.offer_id for change in changes if change.offer_id]
    )
    return [
        DraftLine(
            offer=offers[change.offer_id],
            packs=change.now.packs,
            due_on=change.now.expected_on,
            pack_price=change.now.pack_price,
            contract=change.contract,
            need_by=change.need_by,
            order_by=change.order_by,
            runs=change.runs,
        )
        for change in changes
        if change.offer_id and change.now is not None and change.now.packs is not None
    ]


def _take_prices(by: User, changes: Sequence[ListChange]) -> None:
    """Take other prices over into the breaks that so many packs reach."""
    wanted: dict[int, dict[int, int]] = defaultdict(dict)
    for change in changes:
        now = change.now
        if change.price_differs and change.offer_id and now and now.packs and now.pack_price:
            wanted[change.offer_id][now.packs] = now.pack_price
    offers = SupplierItem.objects.select_related("supplier", "item").in_bulk(sorted(wanted))
    for offer_id, prices in sorted(wanted.items()):
        offer = offers[offer_id]
        breaks = dict(offer.breaks.values_list("from_packs", "pack_price"))
        for packs, price in sorted(prices.items()):
            reached = [start for start in breaks if start <= packs]
            breaks[max(reached, default=packs)] = price
        write_offer(
            by=by,
            supplier=offer.supplier,
            item=offer.item,
            pack_quantity=offer.pack_quantity,
            minimum_packs=offer.minimum_packs,
            lead_days=offer.lead_days,
            supplier_code=offer.supplier_code,
            preferred=offer.preferred,
            breaks=sorted(breaks.items()),
            expected=offer.version,
        )
