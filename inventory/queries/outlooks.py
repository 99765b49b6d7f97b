"""What a hop or yeast lot is worth today and in the coming months, where it lies."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from boxwort.working import Working
from inventory.models import ItemKind
from inventory.queries.hops import LotIndex, Pouch, hop_lives
from inventory.queries.lots import LotRow
from inventory.queries.yeasts import yeast_lives

DAYS_AHEAD = (0, 30, 60, 90, 180)
_NO_POUCH = Pouch(temperature_c=20.0, packing="loose")  # no day is spent in it


@dataclass(frozen=True, kw_only=True)
class OutlookPoint:
    """The share, 0-1, that is left of alpha acid or life on a day."""

    on: date
    share: float


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """A lot's alpha acid or living share today, with its working, and as it falls from now on.

    ``index`` is the newest storage index of a hop lot, if it was read.
    """

    working: Working
    points: tuple[OutlookPoint, ...]
    index: LotIndex | None = None


def outlook_of(lot: LotRow, on: date) -> Outlook | None:
    """Return how a hop or yeast lot stands on a day and after it, stored as now.

    None for a lot of anything else. Four statements.
    """
    days = [on + timedelta(days=ahead) for ahead in DAYS_AHEAD]
    if lot.item_kind == ItemKind.HOP:
        return _hop(lot.id, days)
    if lot.item_kind == ItemKind.YEAST:
        return _yeast(lot.id, days)
    return None


def _hop(lot_id: int, days: list[date]) -> Outlook | None:
    lives = hop_lives([lot_id])
    if lot_id not in lives.hops:
        return None
    found = [lives.on(lot_id, pack_on=day, brew_on=day, pouch=_NO_POUCH) for day in days]
    points = zip(days, (alpha.alpha for alpha in found), strict=True)
    return Outlook(
        working=found[0].working, points=_points(points), index=lives.indices.get(lot_id)
    )


def _yeast(lot_id: int, days: list[date]) -> Outlook | None:
    lives = yeast_lives([lot_id])
    if lot_id not in lives.yeasts:
        return None
    found = [lives.on(lot_id, day) for day in days]
    points = zip(days, (life.share for life in found), strict=True)
    return Outlook(working=found[0].working, points=_points(points))


def _points(shares: zip[tuple[date, float]]) -> tuple[OutlookPoint, ...]:
    return tuple(OutlookPoint(on=day, share=share) for day, share in shares)
