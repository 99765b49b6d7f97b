"""Extract of a grist and the original gravity it gives.

Mashed grain gives its maximum extract times the mash efficiency; extract and sugar give all of it
wherever they go in; steeped grain gives its steep yield, which is its own published figure and not
a share of the maximum. Starch that only a mash converts may not sit in a steeping bag.

>>> dry = Fermentable(
...     name="Dry pale extract", kind=FermentableKind.EXTRACT, kg=2.268, use=Use.BOIL,
...     points_l_per_kg=333.8,
... )
>>> original_gravity((dry,), wort_volume_l=18.93, mash_efficiency=0.75).value
1.0400

Source: J. Palmer, How to Brew, 1st ed., chapters 3.4 and 12 (points, and the steep column of
table 9).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

from boxwort.working import Term, Working, not_negative, positive, share
from recipes.brewing.gravity import sg_from_points
from recipes.brewing.roles import Family, FermentableKind, Use

SOURCE = "J. Palmer, How to Brew, 1st ed., ch. 12"

_GRAIN_USES = frozenset({Use.MASH, Use.STEEP})


@dataclass(frozen=True, kw_only=True)
class Fermentable:
    """One line of a grist.

    Attributes
    ----------
    name, kind, kg, use: what it is, how much, and when it goes in.
    points_l_per_kg: the most it can give, litre-degrees per kg.
    steep_points_l_per_kg: what it gives when steeped; 0 when it is not a grain for steeping.
    colour_lovibond: degrees Lovibond.
    power_lintner: enzyme power, degrees Lintner; 0 for what has no enzymes.
    fermentability: for grain and extract relative to all-malt wort, for sugar a share, 0-1 (see
        :mod:`recipes.brewing.attenuation`).
    must_mash: True when its starch needs a mash (base malt, flaked grain).
    minutes: how long before flame-out it goes into the boil; None for the whole boil.
    family: what it is to a brewer; None where nobody has said.
    container_kg: weight of the tin or sachet it is sold in whole; None when it can be divided.
    """

    name: str
    kind: FermentableKind
    kg: float
    use: Use
    points_l_per_kg: float
    steep_points_l_per_kg: float = 0.0
    colour_lovibond: float = 0.0
    power_lintner: float = 0.0
    fermentability: float = 1.0
    must_mash: bool = False
    minutes: float | None = None
    family: Family | None = None
    container_kg: float | None = None


def measured(
    fermentable: Fermentable,
    *,
    extract: float | None = None,
    colour: float | None = None,
    power: float | None = None,
) -> Fermentable:
    """Return the line with what a lot's analysis says of it; None leaves the specification.

    Parameters
    ----------
    extract: litre-degrees per kg of the lot as it is (see :func:`boxwort.laboratory.potential`).
        A steep yield is a figure of its own and stays.
    colour: degrees Lovibond.
    power: degrees Lintner.
    """
    readings = (
        ("points_l_per_kg", "extract", extract),
        ("colour_lovibond", "colour", colour),
        ("power_lintner", "enzyme power", power),
    )
    said: dict[str, Any] = {
        field: not_negative(f"{what} of {fermentable.name}", reading)
        for field, what, reading in readings
        if reading is not None
    }
    return replace(fermentable, **said)


def points_l(fermentable: Fermentable, mash_efficiency: float) -> float:
    """Return the litre-degrees this line gives to the wort.

    Raises
    ------
    ValueError: the line cannot be used that way; the sentence names the remedy.
    """
    return fermentable.kg * _yield_l_per_kg(fermentable, mash_efficiency)


def wort_fermentables(fermentables: Sequence[Fermentable]) -> tuple[Fermentable, ...]:
    """Return the lines that make the wort: all but priming sugar, which comes after it."""
    return tuple(line for line in fermentables if line.use is not Use.PRIMING)


def original_gravity(
    fermentables: Sequence[Fermentable], *, wort_volume_l: float, mash_efficiency: float
) -> Working:
    """Return the original gravity, with one part for each fermentable.

    Parameters
    ----------
    wort_volume_l: litres of wort that all the extract is in, topped up, at 20 C.
    mash_efficiency: share of the mashed grain's extract that reaches the wort, 0-1.
    """
    positive("wort volume", wort_volume_l)
    parts = tuple(
        _points_working(line, mash_efficiency) for line in wort_fermentables(fermentables)
    )
    total = math.fsum(part.value for part in parts)
    return Working(
        name="Original gravity",
        formula="1 + sum of parts / wort volume / 1000",
        terms=(
            Term(name="sum of parts", value=total, unit="litre-degrees"),
            Term(name="wort volume", value=wort_volume_l, unit="L"),
        ),
        value=sg_from_points(total / wort_volume_l),
        unit="SG",
        source=SOURCE,
        notes=_notes(fermentables),
        parts=parts,
    )


def _yield_l_per_kg(line: Fermentable, mash_efficiency: float) -> float:
    not_negative(f"weight of {line.name}", line.kg)
    not_negative(f"extract of {line.name}", line.points_l_per_kg)
    if line.kind is not FermentableKind.GRAIN:
        return line.points_l_per_kg
    _refuse_unfit_use(line)
    if line.use is Use.MASH:
        return line.points_l_per_kg * share("mash efficiency", mash_efficiency)
    return _steep_yield_l_per_kg(line)


def _refuse_unfit_use(line: Fermentable) -> None:
    if line.use not in _GRAIN_USES:
        msg = f"{line.name} is grain and cannot go in at {line.use.value}; mash or steep it"
        raise ValueError(msg)
    if line.must_mash and line.use is Use.STEEP:
        msg = (
            f"{line.name} must be mashed and cannot be steeped; use a partial mash, "
            "or syrup or extract of the same grain in its place"
        )
        raise ValueError(msg)


def _steep_yield_l_per_kg(line: Fermentable) -> float:
    steep_yield = not_negative(f"steep yield of {line.name}", line.steep_points_l_per_kg)
    if steep_yield == 0:
        msg = f"{line.name} has no steep yield; give one in its specification, or mash it"
        raise ValueError(msg)
    return steep_yield


def _points_working(line: Fermentable, mash_efficiency: float) -> Working:
    weight = Term(name="weight", value=line.kg, unit="kg")
    unit = "litre-degrees per kg"
    if line.kind is FermentableKind.GRAIN and line.use is Use.STEEP:
        formula = "weight * steep yield"
        yields: tuple[Term, ...] = (
            Term(name="steep yield", value=_yield_l_per_kg(line, mash_efficiency), unit=unit),
        )
    else:
        efficiency = mash_efficiency if line.kind is FermentableKind.GRAIN else 1.0
        formula = "weight * extract * efficiency"
        yields = (
            Term(name="extract", value=line.points_l_per_kg, unit=unit),
            Term(name="efficiency", value=efficiency, unit=""),
        )
    return Working(
        name=line.name,
        formula=formula,
        terms=(weight, *yields),
        value=points_l(line, mash_efficiency),
        unit="litre-degrees",
        source=SOURCE,
    )


def _notes(fermentables: Sequence[Fermentable]) -> tuple[str, ...]:
    notes = []
    if any(line.use is Use.PRIMING for line in fermentables):
        notes.append("Priming sugar is left out: it goes in after fermentation.")
    if any(line.use is Use.FERMENTER for line in fermentables):
        notes.append("Sugar added in the fermenter is counted as if it were in the wort.")
    return tuple(notes)
