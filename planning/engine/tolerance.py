"""How far a weight may be off when a kit is packed: the house's own tolerance, inside the law's.

A pouch of hops is held to the tolerance of the pouch scale, for a tenth of its weight is a tenth of
its bitterness. Other weights are held to half a percent, or to that tolerance where it is larger.
Both are our choice. The law allows more: 2.8 g on a pouch of 28 g, 10 g and more on 454 g.
"""

from __future__ import annotations

from fractions import Fraction

SHARE = Fraction(5, 1000)


def process_tolerance(weight_mg: int, *, pouch_mg: int, division_mg: int, is_hop: bool) -> int:
    """Return the tolerance, mg either way, on whole divisions of the scale and at least one.

    >>> process_tolerance(28_000, pouch_mg=250, division_mg=100, is_hop=True)
    200
    >>> process_tolerance(4_500_000, pouch_mg=250, division_mg=100, is_hop=False)
    22500
    """
    allowed = pouch_mg if is_hop else max(pouch_mg, int(weight_mg * SHARE))
    return max(allowed // division_mg, 1) * division_mg
