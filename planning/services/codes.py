"""Codes that count up: the day, or what else begins them, and the first number that is free."""

from __future__ import annotations

from itertools import count
from typing import Any

from django.db.models import Model


def numbered_code(table: type[Model], stem: str) -> str:
    """Return ``stem-1``, or with the first number that no row of the table has; one statement."""
    rows: Any = table._default_manager.filter(code__startswith=f"{stem}-")
    taken = set(rows.values_list("code", flat=True))
    return next(code for number in count(1) if (code := f"{stem}-{number}") not in taken)
