"""Hop weights that give one brew the bitterness of another.

Hops that hold their weight or move their time stay as they are, those that hold bitterness get
their own IBU back, and those that absorb take what is left of the old total, in proportion to what
they gave. Linear in grams, so the answer is exact; nothing is rounded here.
"""

from __future__ import annotations

import math
from dataclasses import replace

from recipes.brewing.figures import Brew, Hop, hop_additions
from recipes.brewing.roles import HopRole

_FIXED = frozenset({HopRole.HOLD_WEIGHT, HopRole.MOVE_TIME})


def with_bitterness_of(brew: Brew, draft: Brew) -> Brew:
    """Return ``draft`` with the hop weights that give it the IBU of ``brew``.

    Parameters
    ----------
    draft: has the hops of ``brew`` in the same order, in another boil, size, weight or lot.

    Raises
    ------
    ValueError: the hops that stay as they are alone are too bitter, or nothing that moves gives
        bitterness.
    """
    was = [hop.ibu(brew.finished_volume_l) for hop in hop_additions(brew)]
    now = [hop.ibu(draft.finished_volume_l) for hop in hop_additions(draft)]
    wanted = _wanted_ibu(draft.hops, was, now)
    hops = tuple(
        _with_ibu(hop, want, has) for hop, want, has in zip(draft.hops, wanted, now, strict=True)
    )
    return replace(draft, hops=hops)


def _with_ibu(hop: Hop, want: float, has: float) -> Hop:
    if want == has:
        return hop
    if has == 0:
        msg = (
            f"{hop.name} is to give {want:.1f} IBU and gives none; give it a weight, an alpha acid "
            "and a time in the boil"
        )
        raise ValueError(msg)
    return replace(hop, grams=hop.grams * want / has)


def _wanted_ibu(hops: tuple[Hop, ...], was: list[float], now: list[float]) -> list[float]:
    """Return the IBU that each hop is to give: its own, or its share of what is left."""
    roles = [hop.role for hop in hops]
    kept = [new if role in _FIXED else old for role, old, new in zip(roles, was, now, strict=True)]
    if HopRole.ABSORB not in roles:
        return kept
    absorbed = _sum_of(was, [role is HopRole.ABSORB for role in roles])
    left = math.fsum(was) - _sum_of(kept, [role is not HopRole.ABSORB for role in roles])
    _refuse_unsolvable(absorbed, left)
    return [
        left * old / absorbed if role is HopRole.ABSORB else keep
        for role, old, keep in zip(roles, was, kept, strict=True)
    ]


def _sum_of(ibu: list[float], counted: list[bool]) -> float:
    return math.fsum(value for value, counts in zip(ibu, counted, strict=True) if counts)


def _refuse_unsolvable(absorbed: float, left: float) -> None:
    if absorbed == 0:
        msg = "no hop that absorbs gives any bitterness; mark a boiled addition as absorb"
        raise ValueError(msg)
    if left < 0:
        msg = (
            f"the other hops are {-left:.1f} IBU too bitter for this boil, which no bittering hop "
            "can take back; use less of them, or a boil of higher gravity"
        )
        raise ValueError(msg)
