"""Which way each weight is rounded, when several weights must together hit one bitterness."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import product
from math import floor
from typing import NamedTuple

ENUMERATED = 12
"""Weights and minutes whose both roundings are tried; 2 ** 12 combinations are still instant."""

NO_STEP = 1e-8
"""The part of a step below which a weight or a minute is float noise off a whole one."""

SAME_IBU = 9
"""Decimals to which two misses of the target are one and the same (float noise is below)."""


@dataclass(frozen=True, kw_only=True)
class Moving:
    """One weight that may be rounded either way.

    Attributes
    ----------
    exact_mg: the unrounded weight, inside its limits.
    most_mg: the limit that a weight rounded up may not pass.
    before_mg: what today's sheet says.
    ibu_per_mg: bitterness of one milligram of the lot.
    """

    exact_mg: float
    most_mg: float
    before_mg: int
    ibu_per_mg: float


class Rounding(NamedTuple):
    """Weights on the resolution; of two, the lesser by these fields in turn is the better.

    ``miss`` is the distance from the bitterness wanted (IBU), ``change_mg`` that from today's
    sheet.
    """

    miss: float
    change_mg: int
    total_mg: int
    weights: tuple[int, ...]


def rounded_weights(
    weights: Sequence[Moving],
    *,
    wanted_ibu: float,
    resolution_mg: int,
    enumerated: int = ENUMERATED,
) -> Rounding:
    """Return each weight at the floor or ceiling of the resolution, chosen together.

    The combination with the least miss of ``wanted_ibu`` wins, then the least change in weight
    from today's sheet, then the lighter, then the one lighter in the earlier additions. Every
    combination is tried; beyond ``enumerated`` weights, those whose step matters least are put
    on the nearest step first.

    >>> bittering = Moving(exact_mg=20_140, most_mg=40_000, before_mg=20_000, ibu_per_mg=0.001)
    >>> rounded_weights([bittering], wanted_ibu=20.14, resolution_mg=100).weights
    (20100,)
    """
    tried = that_matter([weight.ibu_per_mg for weight in weights], enumerated)
    choices = [
        _steps(weight, resolution_mg) if index in tried else _nearest(weight, resolution_mg)
        for index, weight in enumerate(weights)
    ]

    def rounding(chosen: tuple[int, ...]) -> Rounding:
        pairs = list(zip(chosen, weights, strict=True))
        ibu = sum(mg * weight.ibu_per_mg for mg, weight in pairs)
        change = sum(abs(mg - weight.before_mg) for mg, weight in pairs)
        return Rounding(round(abs(ibu - wanted_ibu), SAME_IBU), change, sum(chosen), chosen)

    return min(rounding(chosen) for chosen in product(*choices))


def that_matter(steps: Iterable[float], most: int) -> set[int]:
    """Return the places of the largest steps, at most so many; the earlier of equals."""
    by_step = sorted(enumerate(steps), key=lambda pair: -pair[1])
    return {place for place, _ in by_step[:most]}


def _steps(weight: Moving, resolution_mg: int) -> tuple[int, ...]:
    exact = weight.exact_mg / resolution_mg
    below = floor(exact + NO_STEP)
    most = floor(weight.most_mg / resolution_mg + NO_STEP)
    if exact - below < NO_STEP or below + 1 > most:
        return (below * resolution_mg,)
    return (below * resolution_mg, (below + 1) * resolution_mg)


def _nearest(weight: Moving, resolution_mg: int) -> tuple[int, ...]:
    return (min(_steps(weight, resolution_mg), key=lambda mg: abs(mg - weight.exact_mg)),)
