"""A horizon of runs that is made up to measure with, the same one each time."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping, Sequence
from datetime import date, timedelta
from math import ceil

import numpy as np

from planning.engine.hop_line import HopLine
from planning.engine.horizon import Horizon, PackLine, in_order
from planning.engine.kit_sheet import BoundKit, BoundLot, KitSheets
from recipes.brewing.bitterness import ibu_per_gram
from recipes.brewing.roles import HopRole

_FIRST = date(2026, 1, 5)
_DAYS = 26 * 7
_LITRES = 20.0
_SHELF_DAYS = 90
_MINIMUM = 6
_FIRM_DAYS = 14


def made_up_horizon(runs: int, dice_start: int = 2026) -> Horizon:
    """Return so many runs of one or two kits over half a year, and lots that nearly hold them.

    There is one variety of hop for about eight runs, in three to seven lots, whose alpha acid
    differs by a tenth either way and which go off one after another. In all they hold between
    nine tenths and six fifths of what is wanted. Half of the kits hold a packed yeast. A third of
    the lines has firm orders.
    """
    dice = np.random.default_rng(dice_start)
    varieties = [f"HOP-{number}" for number in range(max(5, min(40, runs // 8)))]
    yeasts = [f"YEAST-{number}" for number in range(max(2, len(varieties) // 4))]
    kits = [_made_up_kit(dice, varieties, yeasts) for _ in range(max(6, runs // 4))]
    wanted = [
        (
            kits[int(dice.integers(len(kits)))],
            int(dice.integers(2, 13)) * 5,
            _FIRST + timedelta(int(dice.integers(_DAYS))),
        )
        for _ in range(runs)
        for _ in range(1 + int(dice.random() < 0.3))
    ]
    lots = _made_up_lots(dice, wanted)
    return Horizon(
        lines=in_order(
            PackLine(
                line=number,
                on=on,
                kits=count,
                kit=kit,
                lots={item: lots[item] for item in kit.items},
                minimum_kits=_MINIMUM,
                firm=_firm(dice, on, count),
            )
            for number, (kit, count, on) in enumerate(wanted, start=1)
        )
    )


def _firm(dice: np.random.Generator, on: date, kits: int) -> Mapping[date, int]:
    if dice.random() < 2 / 3:
        return {}
    return {on + timedelta(int(dice.integers(2, _FIRM_DAYS))): int(dice.integers(1, kits + 1))}


def _made_up_kit(
    dice: np.random.Generator, varieties: Sequence[str], yeasts: Sequence[str]
) -> BoundKit:
    count = int(dice.integers(2, 5))
    items = [
        str(item) for item in dice.choice(varieties, size=min(count, len(varieties)), replace=False)
    ]
    gravity = float(dice.uniform(1.035, 1.075))
    lines = [_made_up_line(dice, item, place, gravity) for place, item in enumerate(items)]
    packed = {str(dice.choice(yeasts)): 1} if dice.random() < 0.5 else {}
    return BoundKit(
        target_ibu=sum(line.reference_ibu for line in lines),
        hop_lines=lines,
        bound_items=packed,
        resolution_mg=100,
    )


def _made_up_line(dice: np.random.Generator, item: str, place: int, gravity: float) -> HopLine:
    minutes = 0 if place else 60
    return HopLine(
        line=str(place),
        item=item,
        name=f"{item} at {minutes} min",
        role=HopRole.HOLD_WEIGHT if place else HopRole.ABSORB,
        reference_mg=int(dice.integers(80, 300)) * 100,
        reference_alpha=0.06,
        ibu_per_gram=ibu_per_gram(gravity, minutes, _LITRES),
        alpha=0.06,
        minutes=minutes,
    )


def _made_up_lots(
    dice: np.random.Generator, wanted: Sequence[tuple[BoundKit, int, date]]
) -> dict[str, list[BoundLot]]:
    """Return lots of every item, that hold about what is wanted of it."""
    needed: dict[str, int] = defaultdict(int)
    for kit, count, _ in wanted:
        sheet = KitSheets(kit).of({})
        for item in kit.items:
            needed[item] += sheet.needed(item, count)
    lots: dict[str, list[BoundLot]] = {}
    number = 0
    for item in sorted(needed):
        parts = dice.dirichlet(np.full(int(dice.integers(3, 8)), 2.0))
        held = needed[item] * float(dice.uniform(0.9, 1.2))
        ends = sorted(int(day) for day in dice.integers(_DAYS // 3, 2 * _DAYS, size=len(parts)))
        lots[item] = []
        for share, end in zip(parts, ends, strict=True):
            number += 1
            lots[item].append(
                BoundLot(
                    lot=number,
                    code=f"LOT-{number}",
                    available=ceil(held * share),
                    alpha=0.06 * float(dice.uniform(0.9, 1.1)),
                    last_day=_FIRST + timedelta(end),
                )
            )
    return lots
