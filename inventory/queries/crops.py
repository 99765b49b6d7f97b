"""The crops of a hop, for planning by the alpha acid of the one that will be delivered."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from inventory.models import CropYear


@dataclass(frozen=True, kw_only=True)
class CropRow:
    """A crop, the day it is sold from, and its planning alpha acid as a share."""

    id: int
    year: int
    from_on: date
    planning_alpha: float


def crops_of(item_id: int) -> list[CropRow]:
    """Return the crops of a hop, the newest first; one statement."""
    return [
        CropRow(
            id=crop.pk, year=crop.year, from_on=crop.from_on, planning_alpha=crop.planning_alpha
        )
        for crop in CropYear.objects.filter(item=item_id).order_by("-from_on")
    ]
