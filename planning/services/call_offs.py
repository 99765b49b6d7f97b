"""What is called off a contract: no more than it holds, and only between its days."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from boxwort.errors import Refusal
from boxwort.figures import on_date
from inventory.models import Contract, Item
from inventory.services.entries import amount
from planning.models import PurchaseOrder
from planning.queries.contracts import contract_rows


@dataclass(frozen=True, kw_only=True)
class CallOff:
    """A quantity of an item to be delivered on a day under a contract, in whole units."""

    contract: Contract
    item: Item
    quantity: int
    due_on: date


def check_call_offs(calls: Sequence[CallOff], order: PurchaseOrder | None) -> None:
    """Refuse to call more off a contract than it holds, or for a day that it does not cover.

    What stands on ``order`` is not counted: its lines are written anew.

    Raises
    ------
    Refusal: ``contract-not-open`` or ``contract-exhausted``.
    """
    if not calls:
        return
    asked: dict[int, int] = defaultdict(int)
    for call in calls:
        _refuse_other_days(call)
        asked[call.contract.pk] += call.quantity
    left = _left(order)
    for call in calls:
        if asked[call.contract.pk] > left[call.contract.pk]:
            raise Refusal(
                "contract-exhausted",
                f"Contract {call.contract} still holds "
                f"{amount(left[call.contract.pk], call.item)}, and "
                f"{amount(asked[call.contract.pk], call.item)} were called off.",
                "Call off what is left, and order the rest without the contract.",
            )


def _left(order: PurchaseOrder | None) -> dict[int, int]:
    left = defaultdict(int, {row.id: row.left for row in contract_rows()})
    if order is not None:
        for contract_id, quantity in order.lines.filter(contract__isnull=False).values_list(
            "contract_id", "quantity"
        ):
            left[contract_id] += quantity
    return left


def _refuse_other_days(call: CallOff) -> None:
    contract = call.contract
    if not contract.from_on <= call.due_on <= contract.until_on:
        raise Refusal(
            "contract-not-open",
            f"Contract {contract} runs from {on_date(contract.from_on)} to "
            f"{on_date(contract.until_on)}, and the line is due on {on_date(call.due_on)}.",
            "Change the day, or order without the contract.",
        )
