"""Enzyme power of a grist: whether its malt can convert its starch.

The power of a grist is the weighted mean of degrees Lintner over the mashed grain. About 30 is the
least that converts, slowly; 40 is a sound minimum; from 70 on it is comfortable.

>>> lintner_from_wk(334)
100.0
>>> strength(55).value
'sound'

Source: The Oxford Companion to Beer (degrees Lintner = (degrees Windisch-Kolbach + 16) / 3.5); the
thresholds are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from boxwort.working import Term, Working, not_negative, positive
from recipes.brewing.extract import Fermentable
from recipes.brewing.roles import FermentableKind, Use

SOURCE = "weighted mean, thresholds common practice"
LEAST_LINTNER = 30.0
SOUND_LINTNER = 40.0
COMFORTABLE_LINTNER = 70.0


class Strength(StrEnum):
    """How far a grist's power goes."""

    TOO_WEAK = "too_weak"
    WEAK = "weak"
    SOUND = "sound"
    COMFORTABLE = "comfortable"


_VERDICTS = {
    Strength.TOO_WEAK: "Too weak to convert: below 30 degrees Lintner. Add base malt.",
    Strength.WEAK: "Weak: 30 degrees Lintner converts slowly; 40 is a sound minimum.",
    Strength.SOUND: "Sound: at least 40 degrees Lintner.",
    Strength.COMFORTABLE: "Comfortable: at least 70 degrees Lintner.",
}


def lintner_from_wk(windisch_kolbach: float) -> float:
    """Return degrees Lintner of degrees Windisch-Kolbach."""
    return (not_negative("degrees Windisch-Kolbach", windisch_kolbach) + 16) / 3.5


def wk_from_lintner(lintner: float) -> float:
    """Return degrees Windisch-Kolbach of degrees Lintner, never below zero."""
    return max(0.0, 3.5 * not_negative("degrees Lintner", lintner) - 16)


def strength(lintner: float) -> Strength:
    """Return the word for a grist of this power."""
    not_negative("degrees Lintner", lintner)
    if lintner < LEAST_LINTNER:
        return Strength.TOO_WEAK
    if lintner < SOUND_LINTNER:
        return Strength.WEAK
    return Strength.SOUND if lintner < COMFORTABLE_LINTNER else Strength.COMFORTABLE


def mashed_grain(fermentables: Sequence[Fermentable]) -> tuple[Fermentable, ...]:
    """Return the lines of a grist that the enzymes have to convert."""
    return tuple(
        line
        for line in fermentables
        if line.use is Use.MASH and line.kind is FermentableKind.GRAIN and line.kg > 0
    )


def grist_power(fermentables: Sequence[Fermentable]) -> Working:
    """Return the degrees Lintner of the mashed grain, with one part for each.

    Raises
    ------
    ValueError: nothing is mashed.
    """
    mashed = mashed_grain(fermentables)
    grist_kg = positive("weight of mashed grain", math.fsum(line.kg for line in mashed))
    parts = tuple(_share_working(line, grist_kg) for line in mashed)
    lintner = math.fsum(part.value for part in parts)
    return Working(
        name="Enzyme power",
        formula="sum of weight * power / grist",
        terms=(Term(name="grist", value=grist_kg, unit="kg"),),
        value=lintner,
        unit="degrees Lintner",
        source=SOURCE,
        notes=(_VERDICTS[strength(lintner)],),
        parts=parts,
    )


def _share_working(line: Fermentable, grist_kg: float) -> Working:
    power = not_negative(f"enzyme power of {line.name}", line.power_lintner)
    return Working(
        name=line.name,
        formula="weight * power / grist",
        terms=(
            Term(name="weight", value=line.kg, unit="kg"),
            Term(name="power", value=power, unit="degrees Lintner"),
            Term(name="grist", value=grist_kg, unit="kg"),
        ),
        value=line.kg * power / grist_kg,
        unit="degrees Lintner",
        source=SOURCE,
    )
