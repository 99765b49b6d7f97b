"""Enzyme power of a grist: whether its malt can convert its starch, and its share of adjuncts.

The power of a grist is the weighted mean of degrees Lintner over the mashed grain. About 30 is the
least that converts, slowly; 40 is a sound minimum; from 70 on it is comfortable. Adjuncts are what
is not malt: unmalted grain, sugar and syrup. What of a grist cannot be where it is, or is more than
its malt converts, is said by :mod:`recipes.brewing.placement`.

>>> lintner_from_wk(334)
100.0
>>> strength(55).value
'sound'

Sources: The Oxford Companion to Beer for degrees Windisch-Kolbach (:mod:`boxwort.laboratory`); the
thresholds are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from enum import StrEnum

from boxwort.figures import share as percent
from boxwort.laboratory import lintner_from_wk as lintner_from_wk
from boxwort.working import Term, Working, not_negative, positive
from recipes.brewing.extract import Fermentable, points_l, wort_fermentables
from recipes.brewing.roles import Family, FermentableKind, Use

SOURCE = "weighted mean, thresholds common practice"
LEAST_LINTNER = 30.0
SOUND_LINTNER = 40.0
COMFORTABLE_LINTNER = 70.0

UNMALTED = frozenset({Family.FLAKED_CORN, Family.FLAKED_OATS})
"""Families of grain that was never malted and has no enzymes of its own."""


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
        formula="sum of parts",
        terms=(Term(name="grist", value=grist_kg, unit="kg"),),
        value=lintner,
        unit="degrees Lintner",
        source=SOURCE,
        notes=(_VERDICTS[strength(lintner)],),
        parts=parts,
    )


def base_malt_needed_kg(
    mashed: Sequence[Fermentable], power_lintner: float, wanted_lintner: float = SOUND_LINTNER
) -> float:
    """Return the kg of a malt of this power that bring mashed grain up to ``wanted_lintner``.

    Zero when the grain is strong enough by itself.

    Raises
    ------
    ValueError: the malt itself is no stronger than what is wanted.
    """
    if power_lintner <= wanted_lintner:
        msg = (
            f"malt of {power_lintner:g} degrees Lintner cannot bring a mash to "
            f"{wanted_lintner:g}; choose a stronger one"
        )
        raise ValueError(msg)
    missing = math.fsum((wanted_lintner - line.power_lintner) * line.kg for line in mashed)
    return max(0.0, missing) / (power_lintner - wanted_lintner)


def adjunct_share(fermentables: Sequence[Fermentable], mash_efficiency: float = 1.0) -> Working:
    """Return the share of the extract, in percent, that comes from unmalted grain and sugar.

    Parameters
    ----------
    mash_efficiency: counts the extract that reaches the wort; 1 counts what the mash could give.
        Priming sugar is no part of the wort.

    Raises
    ------
    ValueError: there is no extract.
    """
    lines = wort_fermentables(fermentables)
    total = positive("extract", math.fsum(points_l(line, mash_efficiency) for line in lines))
    parts = tuple(
        _adjunct_working(line, mash_efficiency, total) for line in lines if is_adjunct(line)
    )
    basis = (
        f"mashed grain at {percent(mash_efficiency, 0)}"
        if mash_efficiency < 1
        else "all it can give"
    )
    return Working(
        name="Share of adjuncts",
        formula="sum of parts",
        terms=(Term(name="extract", value=total, unit="litre-degrees"),),
        value=math.fsum(part.value for part in parts),
        unit="%",
        source="unmalted grain, sugar and syrup, by extract: common practice",
        notes=(f"Of the extract, not of the weight; {basis}.", *_unsaid(lines)),
        parts=parts,
    )


def is_adjunct(line: Fermentable) -> bool:
    """Return whether a line is unmalted grain, sugar or syrup."""
    return line.kind is FermentableKind.SUGAR or line.family in UNMALTED


def _adjunct_working(line: Fermentable, mash_efficiency: float, total: float) -> Working:
    given = points_l(line, mash_efficiency)
    return Working(
        name=line.name,
        formula="extract of the line / extract * 100",
        terms=(
            Term(name="extract of the line", value=given, unit="litre-degrees"),
            Term(name="extract", value=total, unit="litre-degrees"),
        ),
        value=given / total * 100,
        unit="%",
        source="common practice",
    )


def _unsaid(lines: Sequence[Fermentable]) -> tuple[str, ...]:
    """Say which grain nobody has given a family, and that it is taken for malt."""
    names = [line.name for line in lines if line.kind is FermentableKind.GRAIN and not line.family]
    return (f"Of no family, and so counted as malt: {', '.join(names)}.",) if names else ()


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
