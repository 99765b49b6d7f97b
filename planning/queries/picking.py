"""Where the lots of a run lie."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable

from inventory.models import Balance


def places_of(lot_codes: Iterable[str]) -> dict[str, str]:
    """Return the storage places of each lot by its code; the fullest comes first."""
    balances = Balance.objects.filter(
        lot__code__in=list(lot_codes), holds_stock=True, quantity__gt=0
    ).order_by("-quantity", "place__code")
    found: dict[str, list[str]] = defaultdict(list)
    for code, name in balances.values_list("lot__code", "place__name"):
        found[code].append(name)
    return {code: ", ".join(names) for code, names in found.items()}
