"""What the papers of a dispatch say, as plain values: kept with it, so that they never change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from inventory.models import ItemKind
from planning.queries.dispatch_boxes import THE_LOT, BoxPacked, PartPacked
from planning.queries.dispatch_lots import Way, is_grain, yeast_in_box
from planning.queries.dispatch_offers import OrderChoice
from planning.queries.dispatch_stock import ICE, DispatchStock
from recipes.queries.bills import BillRow


def dispatch_content(
    code: str, choice: OrderChoice, boxes: Sequence[BoxPacked], stock: DispatchStock
) -> dict[str, Any]:
    """Return the content of a dispatch: its boxes of kits, and its extras."""
    order = choice.order
    return {
        "dispatch": code,
        "order": order.code,
        "customer": order.customer,
        "zone": order.zone.name if order.zone else "",
        "producer": stock.site.producer,
        "shipped_on": choice.way.shipped_on,
        "arrives_on": choice.way.arrives_on,
        "warm": choice.way.is_warm,
        "temperature_c": choice.way.temperature_c,
        "boxes": [_box(box, choice.way, stock) for box in boxes if box.is_kit],
        "extras": [_extra(box) for box in boxes if not box.is_kit],
    }


def _box(box: BoxPacked, way: Way, stock: DispatchStock) -> dict[str, Any]:
    first = box.dated.set_by
    set_by = first if first and first.name != THE_LOT else None
    grain = next((part for part in box.parts if is_grain(part.lot)), None)
    return {
        "kit": {"code": box.lot.item.code, "name": box.lot.item.name},
        "lot": box.lot.code,
        "quantity": box.quantity,
        "brew_on": box.choice.brew_on,
        "best_before": {
            "on": box.dated.day,
            "set_by": f"{set_by.name}: {set_by.reason}" if set_by else "",
        },
        "grain": "" if grain is None else "crushed" if grain.crushed else "whole",
        "allergens": list(box.allergens),
        "parts": [_part(part, box, way, stock) for part in box.parts],
        "batches": [
            box.lot.code,
            *(part.lot.code for part in box.parts if part.lot.item.kind == ItemKind.KIT),
        ],
    }


def _part(part: PartPacked, box: BoxPacked, way: Way, stock: DispatchStock) -> dict[str, Any]:
    item, row = part.lot.item, _bill_row(part, box, stock)
    yeast = row if row and part.is_yeast else None
    return {
        "key": part.key,
        "code": item.code,
        "name": item.name,
        "measure": item.measure,
        "lot": part.lot.code,
        "per_box": part.per_box,
        "quantity": part.quantity,
        "best_before_on": part.lot.best_before_on,
        "crushed": part.crushed,
        "is_ice": part.key == ICE,
        "stands_for": row.stands_for if row else "",
        "yeast": yeast
        and yeast_in_box(part.lot.pk, yeast, box.choice.brew_on, way=way, stock=stock),
    }


def _bill_row(part: PartPacked, box: BoxPacked, stock: DispatchStock) -> BillRow | None:
    """Return the row of the bill, or of its substitute, that a lot was added for; ice has none."""
    added = {each.key: each for each in stock.added[box.choice.line.pk]}
    return added[part.key].rows[part.lot.item_id] if part.key in added else None


def _extra(box: BoxPacked) -> dict[str, Any]:
    item = box.lot.item
    return {
        "code": item.code,
        "name": item.name,
        "measure": item.measure,
        "lot": box.lot.code,
        "quantity": box.quantity,
        "best_before_on": box.dated.day,
        "allergens": list(box.allergens),
    }
