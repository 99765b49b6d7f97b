"""A code that a new lot may have."""

from __future__ import annotations

from datetime import date
from string import ascii_uppercase

from inventory.models import Lot
from inventory.models.codes import CODE_LENGTH


def free_lot_code(item_code: str, on: date) -> str:
    """Return the item's code and the day, lettered where that is taken; "" after 27 in a day."""
    day = f"-{on:%y%m%d}"
    stem = item_code[: CODE_LENGTH - len(day) - 1].rstrip("-") + day
    taken = set(Lot.objects.filter(code__startswith=stem).values_list("code", flat=True))
    return next((stem + end for end in ("", *ascii_uppercase) if stem + end not in taken), "")
