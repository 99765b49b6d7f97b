"""A brew at another size.

Fermentables and hops that hold their weight follow the volume; mashed grain follows the mash
efficiency too. Bittering hops are solved in the new volume and the new boil gravity: those that
hold bitterness keep their own IBU, and those that absorb take what is left of the old total.
Linear in grams, so the answer is exact; nothing is rounded here.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

from boxwort.working import positive, share
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop, hop_additions
from recipes.brewing.roles import FermentableKind, HopRole, Use


@dataclass(frozen=True, kw_only=True)
class Scaled:
    """A brew at its new size, and in plain words why each amount is what it is."""

    brew: Brew
    reasons: tuple[str, ...]


def scaled(
    brew: Brew,
    *,
    finished_volume_l: float,
    pre_boil_volume_l: float | None = None,
    post_boil_volume_l: float | None = None,
    mash_efficiency: float | None = None,
) -> Scaled:
    """Return ``brew`` at another finished volume, at the same gravity and bitterness.

    Boil volumes follow the finished volume unless given, the efficiency stays unless given.

    Raises
    ------
    ValueError: the hops that hold their weight alone are more bitter than the beer, or no
        addition that absorbs gives bitterness.
    """
    ratio = _ratio(brew, positive("finished volume", finished_volume_l), post_boil_volume_l)
    size = finished_volume_l / brew.finished_volume_l
    efficiency = brew.mash_efficiency if mash_efficiency is None else mash_efficiency
    draft = replace(
        brew,
        finished_volume_l=finished_volume_l,
        pre_boil_volume_l=_given(pre_boil_volume_l, brew.pre_boil_volume_l * size),
        post_boil_volume_l=_given(post_boil_volume_l, brew.post_boil_volume_l * size),
        mash_efficiency=efficiency,
        fermentables=tuple(
            _scaled_fermentable(line, ratio, brew.mash_efficiency, efficiency)
            for line in brew.fermentables
        ),
        hops=tuple(replace(hop, grams=hop.grams * size) for hop in brew.hops),
    )
    hops = tuple(
        replace(hop, grams=grams)
        for hop, grams in zip(draft.hops, _hop_grams(brew, draft), strict=True)
    )
    new = replace(draft, hops=hops)
    return Scaled(brew=new, reasons=_reasons(brew, new))


def _ratio(brew: Brew, finished_volume_l: float, post_boil_volume_l: float | None) -> float:
    """Return new over old wort volume, which keeps the gravity."""
    size = finished_volume_l / brew.finished_volume_l
    kettle_l = _given(post_boil_volume_l, brew.post_boil_volume_l * size)
    return max(finished_volume_l, kettle_l) / brew.wort_volume_l


def _given(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _scaled_fermentable(
    line: Fermentable, ratio: float, old_efficiency: float, new_efficiency: float
) -> Fermentable:
    kg = line.kg * ratio
    if line.use is Use.MASH and line.kind is FermentableKind.GRAIN:
        kg *= share("mash efficiency", old_efficiency) / positive("mash efficiency", new_efficiency)
    return replace(line, kg=kg)


def _hop_grams(brew: Brew, draft: Brew) -> list[float]:
    """Return grams of each hop of ``draft`` that give the IBU of ``brew``."""
    old = [hop.ibu(brew.finished_volume_l) for hop in hop_additions(brew)]
    by_volume = [hop.ibu(draft.finished_volume_l) for hop in hop_additions(draft)]
    wanted = _wanted_ibu(brew.hops, old, by_volume)
    return [
        hop.grams * want / now if now > 0 else hop.grams
        for hop, want, now in zip(draft.hops, wanted, by_volume, strict=True)
    ]


def _wanted_ibu(hops: tuple[Hop, ...], old: list[float], by_volume: list[float]) -> list[float]:
    """Return the IBU that each hop is to give: its own, or its share of what is left."""
    roles = [hop.role for hop in hops]
    absorbed = math.fsum(
        ibu for ibu, role in zip(old, roles, strict=True) if role is HopRole.ABSORB
    )
    kept = [
        now if role is HopRole.HOLD_WEIGHT else was
        for role, was, now in zip(roles, old, by_volume, strict=True)
    ]
    if HopRole.ABSORB not in roles:
        return kept
    left = math.fsum(old) - math.fsum(
        ibu for ibu, role in zip(kept, roles, strict=True) if role is not HopRole.ABSORB
    )
    _refuse_unsolvable(absorbed, left)
    return [
        left * was / absorbed if role is HopRole.ABSORB else keep
        for role, was, keep in zip(roles, old, kept, strict=True)
    ]


def _refuse_unsolvable(absorbed: float, left: float) -> None:
    if absorbed == 0:
        msg = "no hop that absorbs gives any bitterness; mark a boiled addition as absorb"
        raise ValueError(msg)
    if left < 0:
        msg = (
            f"the other hops are {-left:.1f} IBU too bitter at this size, which no bittering hop "
            "can take back; use less of them, or a boil of higher gravity"
        )
        raise ValueError(msg)


def _reasons(old: Brew, new: Brew) -> tuple[str, ...]:
    sizes = f"{old.finished_volume_l:g} L to {new.finished_volume_l:g} L"
    reasons = [f"fermentables follow the wort: {sizes}"]
    if new.mash_efficiency != old.mash_efficiency:
        reasons.append(
            f"mashed grain follows the mash efficiency: {old.mash_efficiency:.0%} to "
            f"{new.mash_efficiency:.0%}"
        )
    words = {
        HopRole.HOLD_WEIGHT: "holds its weight per litre",
        HopRole.HOLD_BITTERNESS: "holds its own bitterness in the new boil",
        HopRole.ABSORB: "takes what is left of the bitterness in the new boil",
    }
    reasons += [
        f"{was.name}: {was.grams:.1f} g to {now.grams:.1f} g, {words[was.role]}"
        for was, now in zip(old.hops, new.hops, strict=True)
    ]
    return tuple(reasons)
