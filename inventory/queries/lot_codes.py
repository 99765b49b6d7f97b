"""Codes that new lots may have."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date
from string import ascii_uppercase

from django.db.models import Q

from inventory.models import Lot
from inventory.models.codes import CODE_LENGTH


def free_lot_code(item_code: str, on: date) -> str:
    """Return the item's code and the day, lettered where that is taken; "" after 27 in a day."""
    return free_lot_codes([item_code], on)[0]


def free_lot_codes(item_codes: Sequence[str], on: date) -> list[str]:
    """Return a code for a new lot of each item, each another; one statement."""
    day = f"-{on:%y%m%d}"
    stems = [code[: CODE_LENGTH - len(day) - 1].rstrip("-") + day for code in item_codes]
    named = Q(code__in=[])
    for stem in stems:
        named |= Q(code__startswith=stem)
    taken = set(Lot.objects.filter(named).values_list("code", flat=True))
    found = []
    for stem in stems:
        free = next((stem + end for end in ("", *ascii_uppercase) if stem + end not in taken), "")
        taken.add(free)
        found.append(free)
    return found
