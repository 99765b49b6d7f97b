"""Lots that go on from another lot: what was measured on that one is true of them.

A lot that work made of one other (repacked, milled, broken down) has lain where that one lay, in
its packing, until the day it was made. What was sampled of the older lot after that day is its own
affair.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date

from django.db.models import Q, QuerySet

from inventory.models import Lot


@dataclass(frozen=True, kw_only=True)
class Generation:
    """A lot as a part of a life: from the day it was made until ``until`` (None: to this day)."""

    lot_id: int
    until: date | None


def kin(lot_ids: Iterable[int]) -> QuerySet[Lot]:
    """Return these lots and every one that any of them may go on from, each once."""
    asked = list(lot_ids)
    return Lot.objects.filter(
        Q(pk__in=asked)
        | Q(
            pk__in=Lot.objects.filter(from_lot__isnull=False).values("from_lot"),
            item__in=Lot.objects.filter(pk__in=asked, from_lot__isnull=False).values("item"),
        )
    )


def generations(lot_id: int, made: Mapping[int, tuple[int | None, date]]) -> list[Generation]:
    """Return the lots that a lot goes on from and itself, the oldest first.

    ``made`` holds, by lot, the lot it goes on from and the day it came into the store.
    """
    found: list[Generation] = []
    current: int | None = lot_id
    until: date | None = None
    while current is not None and current in made:
        found.append(Generation(lot_id=current, until=until))
        current, until = made[current]
    return found[::-1]


def heirs(lot_id: int, sampled_on: date) -> list[int]:
    """Return the lots of which a sample of this lot on a day is true, too, the lot itself first.

    One statement, and one more for each work in the longest line.
    """
    found, last = [lot_id], [lot_id]
    while last:
        children = Lot.objects.filter(from_lot__in=last).order_by("pk")
        last = [lot.pk for lot in children if lot.begun_on >= sampled_on]
        found += last
    return found
