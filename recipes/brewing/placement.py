"""What of a grist cannot be where it is, and what its malt cannot convert: each with its remedy.

Starch needs a mash: base malt, flaked and torrefied grain give only haze in a steeping bag. In the
mash, enzymes have to reach all of the starch (:mod:`recipes.brewing.power`). As a rule of thumb a
six-row base malt converts a fifth of the grist in flaked corn; that is common practice. Adjuncts
feed yeast little, so a wort of more than two fifths of them is warned of; that bound is our own.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from recipes.brewing.extract import Fermentable
from recipes.brewing.power import (
    LEAST_LINTNER,
    SOUND_LINTNER,
    UNMALTED,
    adjunct_share,
    base_malt_needed_kg,
    grist_power,
    mashed_grain,
)
from recipes.brewing.roles import Family, FermentableKind, MethodKind, Use

STARCHY = UNMALTED | {
    Family.BASE_MALT,
    Family.HIGH_KILNED,
    Family.WHEAT_MALT,
    Family.RYE_MALT,
}
"""Families of grain whose starch only a mash converts."""

MOST_ADJUNCTS = 0.40
"""Share of the extract, ours, beyond which adjuncts are warned of."""

_SYRUP = {
    Family.FLAKED_CORN: "brewing syrup at flame-out",
    Family.BASE_MALT: "pale extract",
    Family.HIGH_KILNED: "Munich extract",
    Family.WHEAT_MALT: "wheat extract",
    Family.RYE_MALT: "rye extract",
}


@dataclass(frozen=True, kw_only=True)
class Misplaced:
    """One thing wrong with a grist.

    Attributes
    ----------
    name: the line, or "Mash" or "Wort" when it is all of it.
    what, remedy: what is wrong, and what to do; whole sentences.
    refused: False for what makes beer all the same, only not well.
    """

    name: str
    what: str
    remedy: str
    refused: bool = True


def misplaced(fermentables: Sequence[Fermentable], kind: MethodKind) -> tuple[Misplaced, ...]:
    """Return what is wrong with a grist for this method: its lines, the mash, else the wort."""
    lines = tuple(line for line in fermentables if line.kg > 0)
    wrong = [
        found
        for line in lines
        if line.kind is FermentableKind.GRAIN and (found := _misplaced_grain(line, kind))
    ]
    if kind is not MethodKind.EXTRACT and (weak := _weak_mash(lines)):
        wrong.append(weak)
    if not wrong and (thin := _thin_wort(lines)):
        wrong.append(thin)
    return tuple(wrong)


def needs_mash(line: Fermentable) -> bool:
    """Return whether a grain's starch only converts in a mash."""
    return line.must_mash or line.family in STARCHY


def _misplaced_grain(line: Fermentable, kind: MethodKind) -> Misplaced | None:
    if line.use is Use.MASH:
        return _mash_without_tun(line) if kind is MethodKind.EXTRACT else None
    if line.use is not Use.STEEP:
        return Misplaced(
            name=line.name,
            what=f"{line.name} is grain and goes in at {line.use.value.replace('_', '-')}.",
            remedy="Mash it." if needs_mash(line) else "Mash or steep it.",
        )
    if needs_mash(line):
        return Misplaced(
            name=line.name,
            what=f"{line.name} is starch that only a mash converts, and sits in a steeping bag.",
            remedy=f"{_mashed_words(line)}{_stand_in_words(line)}.",
        )
    if line.steep_points_l_per_kg <= 0:
        return Misplaced(
            name=line.name,
            what=f"{line.name} is steeped and has no steep yield.",
            remedy="Give its steep yield in the catalogue, or mash it.",
        )
    return None


def _mash_without_tun(line: Fermentable) -> Misplaced:
    return Misplaced(
        name=line.name,
        what=f"An extract method has no mash, and {line.name} is mashed.",
        remedy=f"{_mashed_words(line) if needs_mash(line) else 'Steep it'}{_stand_in_words(line)}.",
    )


def _mashed_words(line: Fermentable) -> str:
    if line.power_lintner >= SOUND_LINTNER:
        return "Make it a partial mash"
    return "Make it a partial mash with enough base malt to convert it"


def _stand_in_words(line: Fermentable) -> str:
    stand_in = _SYRUP.get(line.family) if line.family else None
    return f", or use {stand_in} in its place" if stand_in else ""


def _weak_mash(lines: Sequence[Fermentable]) -> Misplaced | None:
    mashed = mashed_grain(lines)
    if not mashed:
        return None
    lintner = grist_power(mashed).value
    if lintner >= SOUND_LINTNER:
        return None
    unmalted_kg = math.fsum(line.kg for line in mashed if line.family in UNMALTED)
    burden = f", {unmalted_kg:.2f} kg of it unmalted grain" if unmalted_kg else ""
    does = "does not convert" if lintner < LEAST_LINTNER else "converts slowly"
    return Misplaced(
        name="Mash",
        what=f"The mash has {lintner:.0f} degrees Lintner{burden}, and {does}.",
        remedy=_stronger_words(mashed),
        refused=lintner < LEAST_LINTNER,
    )


def _thin_wort(lines: Sequence[Fermentable]) -> Misplaced | None:
    wort = [line for line in lines if line.use is not Use.PRIMING and line.points_l_per_kg > 0]
    if not wort:
        return None
    percent = adjunct_share(wort).value
    if percent <= MOST_ADJUNCTS * 100:
        return None
    return Misplaced(
        name="Wort",
        what=f"Of the extract {percent:.0f} % is unmalted grain, sugar and syrup.",
        remedy="Put malt or malt extract in place of some, or give the yeast a nutrient.",
        refused=False,
    )


def _stronger_words(mashed: Sequence[Fermentable]) -> str:
    strongest = max(mashed, key=lambda line: line.power_lintner)
    if strongest.power_lintner <= SOUND_LINTNER:
        return f"Add base malt of well over {SOUND_LINTNER:g} degrees Lintner."
    more_kg = base_malt_needed_kg(mashed, strongest.power_lintner)
    return (
        f"Add {more_kg:.2f} kg of {strongest.name}, or take out grain without enzymes, to reach "
        f"{SOUND_LINTNER:g}."
    )
