"""How an item is ordered: its lot rule, what an order costs, and how long arrivals are checked."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict, dataclass
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Item, LotRule
from inventory.services.entries import check_choice, check_not_negative
from inventory.services.rows import write_row

LONGEST_PERIOD = 730
LONGEST_QUARANTINE = 365


@dataclass(frozen=True, kw_only=True)
class OrderRules:
    """How net requirements of an item become orders; see :class:`Item` for what the fields mean.

    ``fixed_quantity`` is units of stock, ``order_cost`` ten-thousandths of the currency.
    """

    lot_rule: str = LotRule.PERIOD.value
    fixed_quantity: int | None = None
    period_days: int | None = None
    order_cost: int = 0
    quarantine_days: int = 0

    def as_said(self) -> dict[str, Any]:
        """Return the fields of an item that they are."""
        return asdict(self)

    def problems(self) -> Iterator[tuple[str, str, str]]:
        """Yield what cannot be ordered by: the field, what is wrong, and what to do."""
        if self.lot_rule == LotRule.FIXED and self.fixed_quantity is None:
            what = "A fixed quantity is ordered, and it is not said how much."
            yield "fixed_quantity", what, "Give the quantity, or choose another rule."
        elif self.fixed_quantity is not None and self.fixed_quantity <= 0:
            yield "fixed_quantity", "Nothing would be ordered.", "Give more than zero, or nothing."
        if self.period_days is not None and not 1 <= self.period_days <= LONGEST_PERIOD:
            remedy = f"Give 1 to {LONGEST_PERIOD} days, or nothing."
            yield "period_days", "No order covers such a period.", remedy
        if not 0 <= self.quarantine_days <= LONGEST_QUARANTINE:
            remedy = f"Give 0 to {LONGEST_QUARANTINE} days."
            yield "quarantine_days", "Nothing is checked for so long.", remedy
        if self.order_cost < 0:
            yield "order_cost", "An order cannot cost less than nothing.", "Give zero or more."

    def refuse_impossible(self) -> None:
        """Refuse what cannot be ordered by.

        Raises
        ------
        Refusal: ``word-not-known``, or ``order-rules-impossible``.
        """
        check_choice(self.lot_rule, LotRule.values, "lot rule")
        for _, what, remedy in self.problems():
            raise Refusal("order-rules-impossible", what, remedy)


@service
def change_order_rules(
    *, by: User, item: Item, expected: int, rules: OrderRules, safety_stock: int
) -> Item:
    """Change how an item is ordered, and what is kept of it (units of stock) for safety.

    Raises
    ------
    Refusal: ``order-rules-impossible``, ``quantity-negative`` or ``changed-by-someone-else``.
    """
    rules.refuse_impossible()
    check_not_negative(safety_stock, "of safety stock")
    values = rules.as_said() | {"safety_stock": safety_stock}
    write_row(by=by, row=item, values=values, expected=expected)
    return item
