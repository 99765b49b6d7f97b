"""A blend of two lots: its alpha acid, and what is weighed of either for each addition."""

from __future__ import annotations

from collections.abc import Collection
from math import hypot

from boxwort.quantities import MG_PER_G
from planning.engine.balance import Balance, BalanceRow
from planning.engine.kit_sheet import BoundKit, BoundLot
from planning.engine.rounding import Moving, rounded_weights

Pair = tuple[BoundLot, BoundLot]


def blended(lots: Pair, share: float) -> BoundLot:
    """Return a blend as a lot, ``share`` of it the first; the alphas of the two err apart.

    >>> weak = BoundLot(lot=1, code="MAG-1", available=60_000, alpha=0.04)
    >>> strong = BoundLot(lot=2, code="MAG-2", available=40_000, alpha=0.09)
    >>> blend = blended((weak, strong), 0.6)
    >>> blend.code, blend.available, blend.alpha, blend.alpha_spread
    ('MAG-1 and MAG-2', 100000, 0.06, 0.0216)
    """
    first, second = lots
    alphas = (share * (first.alpha or 0.0), (1 - share) * (second.alpha or 0.0))
    effective = share * first.effective_alpha + (1 - share) * second.effective_alpha
    errors = (alphas[0] * first.alpha_spread, alphas[1] * second.alpha_spread)
    methods = dict.fromkeys(lot.alpha_method for lot in lots if lot.alpha_method)
    return BoundLot(
        lot=0,
        code=f"{first.code} and {second.code}",
        available=first.available + second.available,
        alpha=sum(alphas),
        alpha_spread=hypot(*errors) / sum(alphas),
        form_factor=effective / sum(alphas),
        alpha_method=" and ".join(methods),
    )


def split(
    kit: BoundKit, balance: Balance, lines: Collection[str], lots: Pair, share: float
) -> dict[str, tuple[int, int]]:
    """Return what is weighed of either lot by line, on the resolution.

    The floors and ceilings of all that moves are chosen together, as in balancing; an addition
    that keeps its weight keeps it in all.
    """
    rows = [row for row in balance.rows if row.line in lines]
    most = {line.line: kit.most * line.reference_mg for line in kit.hop_lines if line.moves}
    kept = {row.line: _kept(row, share, kit.resolution_mg) for row in rows if row.line not in most}
    moving = [row for row in rows if row.line in most]
    given = sum(row.ibu_after for row in balance.rows if row.line not in lines)
    given += sum(poured_ibu(row, kept[row.line], lots) for row in rows if row.line in kept)
    chosen = rounded_weights(
        [
            Moving(
                exact_mg=part * min(max(row.exact_mg, 0.0), most[row.line]),
                most_mg=part * most[row.line],
                before_mg=round(part * row.after_mg),
                ibu_per_mg=row.ibu_per_gram / MG_PER_G * lot.effective_alpha,
            )
            for row in moving
            for part, lot in zip((share, 1 - share), lots, strict=True)
        ],
        wanted_ibu=balance.ibu_target - given,
        resolution_mg=kit.resolution_mg,
    ).weights
    pairs = zip(chosen[::2], chosen[1::2], strict=True)
    return kept | {row.line: pair for row, pair in zip(moving, pairs, strict=True)}


def poured_ibu(row: BalanceRow, weights: tuple[int, int], lots: Pair) -> float:
    """Return the bitterness of an addition weighed from two lots."""
    alpha_mg = sum(mg * lot.effective_alpha for mg, lot in zip(weights, lots, strict=True))
    return row.ibu_per_gram / MG_PER_G * alpha_mg


def _kept(row: BalanceRow, share: float, resolution_mg: int) -> tuple[int, int]:
    first = round(share * row.after_mg / resolution_mg) * resolution_mg
    return first, row.after_mg - first
