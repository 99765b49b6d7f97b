"""Which way each weight is rounded, when several weights must together hit one bitterness."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import product

ENUMERATED = 12
"""Weights whose both roundings are tried; 2 ** 12 combinations are still instant."""

_SAME_IBU = 9
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


def rounded_weights(
    weights: Sequence[Moving], *, wanted_ibu: float, resolution_mg: int
) -> tuple[int, ...]:
    """Return each weight at the floor or ceiling of the resolution, chosen together.

    The combination with the least miss of ``wanted_ibu`` wins, then the least change in weight
    from today's sheet, then the lighter, then the one lighter in the earlier additions. Every
    combination is tried; beyond ``ENUMERATED`` weights, those whose step matters least are put
    on the nearest step first.

    >>> bittering = Moving(exact_mg=20_140, most_mg=40_000, before_mg=20_000, ibu_per_mg=0.001)
    >>> rounded_weights([bittering], wanted_ibu=20.14, resolution_mg=100)
    (20100,)
    """
    by_step = sorted(range(len(weights)), key=lambda index: -weights[index].ibu_per_mg)
    tried = set(by_step[:ENUMERATED])
    choices = [
        _steps(weight, resolution_mg) if index in tried else _nearest(weight, resolution_mg)
        for index, weight in enumerate(weights)
    ]

    def order(chosen: tuple[int, ...]) -> tuple[float, int, int, tuple[int, ...]]:
        pairs = list(zip(chosen, weights, strict=True))
        ibu = sum(mg * weight.ibu_per_mg for mg, weight in pairs)
        change = sum(abs(mg - weight.before_mg) for mg, weight in pairs)
        return round(abs(ibu - wanted_ibu), _SAME_IBU), change, sum(chosen), chosen

    return min(product(*choices), key=order)


def _steps(weight: Moving, resolution_mg: int) -> tuple[int, ...]:
    floor = int(weight.exact_mg // resolution_mg) * resolution_mg
    ceiling = floor + resolution_mg
    if floor == weight.exact_mg or ceiling > weight.most_mg:
        return (floor,)
    return (floor, ceiling)


def _nearest(weight: Moving, resolution_mg: int) -> tuple[int, ...]:
    return (min(_steps(weight, resolution_mg), key=lambda mg: abs(mg - weight.exact_mg)),)
