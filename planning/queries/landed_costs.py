"""What items were landed for, delivery after delivery."""

from __future__ import annotations

from collections.abc import Iterable

from planning.models import ReceiptLine


def landed_changes(item_ids: Iterable[int]) -> dict[int, float]:
    """Return how much dearer each delivery of these items was than the one before; one statement.

    By the id of the receipt's line, as a share of the cost of a unit before: 0.05 is 5 % dearer.
    The first of an item, and what cost nothing, is left out; so is what was undone.
    """
    rows = ReceiptLine.objects.filter(
        line__item__in=set(item_ids), quantity__gt=0, landed__gt=0, receipt__undone_at=None
    ).order_by("receipt__received_on", "pk")
    before: dict[int, tuple[int, int]] = {}
    found: dict[int, float] = {}
    for pk, item, landed, quantity in rows.values_list("pk", "line__item", "landed", "quantity"):
        if item in before:
            amount, of = before[item]
            found[pk] = landed * of / (quantity * amount) - 1
        before[item] = landed, quantity
    return found
