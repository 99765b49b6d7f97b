"""A brew at another size, from a US gallon (3.8 L) to 40 L.

Fermentables and hops that hold their weight follow the volume; mashed grain follows the mash
efficiency too. Priming sugar and dry hops follow the beer. Bittering hops are solved in the new
volume and the new boil gravity (:mod:`recipes.brewing.hop_weights`). Pouches that move their time
keep their minutes and follow the volume; the others make up for them. Nothing is rounded here.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from boxwort.figures import share as percent
from boxwort.working import positive, share
from recipes.brewing.extract import Fermentable
from recipes.brewing.figures import Brew, Hop
from recipes.brewing.hop_weights import with_bitterness_of
from recipes.brewing.roles import FermentableKind, HopRole, Use

SMALLEST_L = 3.785  # a US gallon, 3.8 L in the trade
LARGEST_L = 40.0

_HOP_WORDS = {
    HopRole.HOLD_WEIGHT: "holds its weight per litre",
    HopRole.MOVE_TIME: "holds its weight per litre and its minutes",
    HopRole.HOLD_BITTERNESS: "holds its own bitterness in the new boil",
    HopRole.ABSORB: "takes what is left of the bitterness in the new boil",
}


@dataclass(frozen=True, kw_only=True)
class ScaledLine:
    """One line of the brew: exact amounts before and after, in kg or g, and why."""

    name: str
    before: float
    after: float
    unit: str
    reason: str


@dataclass(frozen=True, kw_only=True)
class Scaled:
    """A brew at its new size, and in plain words why each amount is what it is.

    ``lines`` are the fermentables, then the hops, in the order of the brew.
    """

    brew: Brew
    reasons: tuple[str, ...]
    lines: tuple[ScaledLine, ...] = ()


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
    ValueError: the size is outside 3.8 to 40 L, the hops that hold their weight alone are more
        bitter than the beer, or no addition that absorbs gives bitterness.
    """
    _refuse_out_of_range(positive("finished volume", finished_volume_l))
    size = finished_volume_l / brew.finished_volume_l
    empty = replace(
        brew,
        finished_volume_l=finished_volume_l,
        pre_boil_volume_l=_given(pre_boil_volume_l, brew.pre_boil_volume_l * size),
        post_boil_volume_l=_given(post_boil_volume_l, brew.post_boil_volume_l * size),
        mash_efficiency=_given(mash_efficiency, brew.mash_efficiency),
    )
    draft = replace(
        empty,
        fermentables=tuple(_scaled_fermentable(line, brew, empty) for line in brew.fermentables),
        hops=tuple(replace(hop, grams=hop.grams * size) for hop in brew.hops),
    )
    new = with_bitterness_of(brew, draft)
    return Scaled(brew=new, reasons=_reasons(brew, new), lines=_lines(brew, new))


def _refuse_out_of_range(finished_volume_l: float) -> None:
    if not SMALLEST_L <= finished_volume_l <= LARGEST_L:
        msg = (
            f"{finished_volume_l:g} L is not the size of a kit; choose one from 3.8 L (a US "
            f"gallon) to {LARGEST_L:g} L"
        )
        raise ValueError(msg)


def _given(value: float | None, otherwise: float) -> float:
    return otherwise if value is None else value


def _is_mashed(line: Fermentable) -> bool:
    return line.use is Use.MASH and line.kind is FermentableKind.GRAIN


def _scaled_fermentable(line: Fermentable, old: Brew, new: Brew) -> Fermentable:
    if line.use is Use.PRIMING:
        return replace(line, kg=line.kg * new.finished_volume_l / old.finished_volume_l)
    kg = line.kg * new.wort_volume_l / old.wort_volume_l
    if _is_mashed(line):
        kg *= share("mash efficiency", old.mash_efficiency) / positive(
            "mash efficiency", share("mash efficiency", new.mash_efficiency)
        )
    return replace(line, kg=kg)


def _lines(old: Brew, new: Brew) -> tuple[ScaledLine, ...]:
    grist = (
        ScaledLine(
            name=was.name,
            before=was.kg,
            after=now.kg,
            unit="kg",
            reason=_fermentable_words(was, old, new),
        )
        for was, now in zip(old.fermentables, new.fermentables, strict=True)
    )
    hops = (
        ScaledLine(
            name=was.name, before=was.grams, after=now.grams, unit="g", reason=_hop_words(was)
        )
        for was, now in zip(old.hops, new.hops, strict=True)
    )
    return (*grist, *hops)


def _fermentable_words(line: Fermentable, old: Brew, new: Brew) -> str:
    if line.use is Use.PRIMING:
        return f"follows the beer: {_sizes(old.finished_volume_l, new.finished_volume_l)}"
    words = f"follows the wort: {_sizes(old.wort_volume_l, new.wort_volume_l)}"
    if _is_mashed(line) and new.mash_efficiency != old.mash_efficiency:
        words += f"; and the mash efficiency: {_efficiencies(old, new)}"
    return words


def _hop_words(hop: Hop) -> str:
    return _HOP_WORDS[HopRole.HOLD_WEIGHT if hop.use is Use.DRY_HOP else hop.role]


def _sizes(old_l: float, new_l: float) -> str:
    return f"{old_l:g} L to {new_l:g} L"


def _efficiencies(old: Brew, new: Brew) -> str:
    return f"{percent(old.mash_efficiency, 0)} to {percent(new.mash_efficiency, 0)}"


def _reasons(old: Brew, new: Brew) -> tuple[str, ...]:
    reasons = [f"fermentables follow the wort: {_sizes(old.wort_volume_l, new.wort_volume_l)}"]
    if new.mash_efficiency != old.mash_efficiency:
        reasons.append(f"mashed grain follows the mash efficiency: {_efficiencies(old, new)}")
    if old.stand is not None:
        reasons.append(
            "the hop stand is taken to cool as declared; a smaller kettle cools faster, so check it"
        )
    reasons += [
        f"{was.name}: {was.grams:.1f} g to {now.grams:.1f} g, {_hop_words(was)}"
        for was, now in zip(old.hops, new.hops, strict=True)
    ]
    return tuple(reasons)
