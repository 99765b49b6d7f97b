"""Makers for tests of allotment: two hops, their lots, and a yeast."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from planning.engine.allotment import allot
from planning.engine.balance import HopLine
from planning.engine.kit_sheet import BoundLot
from recipes.brewing.roles import HopRole

DAY = date(2025, 6, 2)
GOLD = HopLine(
    line="gold-60",
    item="gold",
    name="Magnum at 60 min",
    role=HopRole.ABSORB,
    reference_mg=20_000,
    reference_alpha=0.05,
    ibu_per_gram=24.0,
    alpha=0.05,
)
PERLE = HopLine(
    line="perle-15",
    item="perle",
    name="Perle at 15 min",
    role=HopRole.HOLD_WEIGHT,
    reference_mg=15_000,
    reference_alpha=0.04,
    ibu_per_gram=12.0,
    alpha=0.04,
)
LATE_GOLD = replace(
    GOLD, line="gold-0", role=HopRole.HOLD_WEIGHT, reference_mg=10_000, ibu_per_gram=0.0
)


def hop(number: int, grams: int, *, alpha: float = 0.05, last: int | None = None) -> BoundLot:
    return BoundLot(
        lot=number,
        code=f"H-{number}",
        available=grams * 1000,
        alpha=alpha,
        last_day=None if last is None else DAY + timedelta(last),
    )


def yeast(number: int, packs: int, *, per_kit: int | None = None, last: int | None = None):
    return BoundLot(
        lot=number,
        code=f"Y-{number}",
        available=packs,
        per_kit=per_kit,
        last_day=None if last is None else DAY + timedelta(last),
    )


def allotted(kits, lots, *, lines=(GOLD, PERLE), bound=None, **options):
    options = {"minimum_kits": 6, "resolution_mg": 100, "on": DAY, **options}
    return allot(
        kits=kits,
        hop_lines=lines,
        bound_items=bound or {},
        lots_by_item=lots,
        target_ibu=sum(line.reference_ibu for line in lines),
        **options,
    )


def cuts(allotment, *items):
    return [(batch.kits, *(batch.lots[item] for item in items)) for batch in allotment.batches]
