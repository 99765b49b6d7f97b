"""What a supplier confirms of an order that was sent: other days, other prices, fewer packs."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from inventory.services.entries import check_not_negative
from planning.models import ON_ORDER, PurchaseLine, PurchaseOrder
from planning.services.orders import refuse_due_before
from planning.services.purchase_orders import (
    hold_order,
    line_of,
    refuse_other_states,
    refuse_twice,
    state_by_lines,
)


@dataclass(frozen=True, kw_only=True)
class Confirmed:
    """What is confirmed of a line; what is None stays. Money is ten-thousandths a pack."""

    due_on: date | None = None
    packs: int | None = None
    pack_price: int | None = None


@service
def confirm_lines(
    *, by: User, order: PurchaseOrder, expected: int, lines: Mapping[int, Confirmed]
) -> None:
    """Take over what a supplier confirms of the lines of an order, by the id of the line.

    A price holds for what has still to come.

    Raises
    ------
    Refusal: ``order-not-sent``, ``line-of-another-order``, ``order-line-twice``,
        ``order-due-before-ordered``, ``quantity-negative``,
        ``line-without-packs``, ``more-than-sent``, ``fewer-than-came``, or
        ``changed-by-someone-else``.
    """
    held = hold_order(order)
    refuse_other_states(held, ON_ORDER, "confirmed", "Only an order that was sent is awaited.")
    standing = {line.pk: line for line in held.lines.select_related("item")}
    changed = []
    for line_id, confirmed in lines.items():
        line = line_of(held, standing, line_id)
        before = _facts(line)
        _take_over(held, line, confirmed)
        if _facts(line) != before:
            changed.append({"item": line.item.code, "was": before, "is": _facts(line)})
    refuse_twice(held, standing.values())
    change_version(
        by=by,
        thing=held,
        expected=expected,
        action="confirm lines",
        changes={"state": state_by_lines(standing.values())},
    )
    for line in standing.values():
        line.save(update_fields=["due_on", "quantity", "pack_price"])
    write_history(by=by, thing=held, action="took over lines", after={"lines": changed})
    order.refresh_from_db()


def _take_over(order: PurchaseOrder, line: PurchaseLine, confirmed: Confirmed) -> None:
    if confirmed.due_on is not None:
        refuse_due_before(order.code, order.ordered_on, line.item.code, confirmed.due_on)
        line.due_on = confirmed.due_on
    if confirmed.packs is None and confirmed.pack_price is None:
        return
    if line.pack_quantity is None:
        raise Refusal(
            "line-without-packs",
            f"{line.item.name} was ordered without a pack, so packs and prices say nothing of it.",
            "Change its day alone.",
        )
    if confirmed.pack_price is not None:
        check_not_negative(confirmed.pack_price, "of money for a pack")
        line.pack_price = confirmed.pack_price
    if confirmed.packs is not None:
        _refuse_packs(line, confirmed.packs * line.pack_quantity)
        line.quantity = confirmed.packs * line.pack_quantity


def _refuse_packs(line: PurchaseLine, quantity: int) -> None:
    if quantity > line.quantity:
        raise Refusal(
            "more-than-sent",
            f"More of {line.item.name} was confirmed than was ordered.",
            "Order what is wanted beyond it anew.",
        )
    if quantity < max(line.received, 1):
        raise Refusal(
            "fewer-than-came",
            f"Fewer packs of {line.item.name} were confirmed than have come, or none.",
            "Where the rest will not come, end the line.",
        )


def _facts(line: PurchaseLine) -> dict[str, object]:
    return {
        "due_on": line.due_on,
        "quantity": line.quantity,
        "pack_price": line.pack_price,
    }
