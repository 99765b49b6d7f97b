"""Tins and sachets that are only sold whole, and what makes up the rest.

A line in containers is rounded down to whole ones, and what is missing is made up with an
ingredient that can be divided, by points, so that the original gravity stays: one of the same
family, else the largest extract or base malt. Where nothing can be divided it goes to the nearest.
Colour and fermentability shift by what differs between the two; the figures of the new grist show
it. Priming sugar is not made up and never rounded up: more of it than planned bursts bottles.

>>> tin = Fermentable(
...     name="Amber extract", kind=FermentableKind.EXTRACT, kg=1.7, use=Use.BOIL,
...     points_l_per_kg=300.0, container_kg=1.5,
... )
>>> dry = Fermentable(
...     name="Dry pale extract", kind=FermentableKind.EXTRACT, kg=1.0, use=Use.BOIL,
...     points_l_per_kg=375.0,
... )
>>> packed = made_up((tin, dry), mash_efficiency=0.75)
>>> [line.kg for line in packed.fermentables]
[1.500, 1.160]
>>> print(packed.reasons[0])
Amber extract: 1.70 kg in one of 1.5 kg; 0.16 kg more Dry pale extract makes up the 60 litre-degrees
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from boxwort.working import positive
from recipes.brewing.extract import Fermentable, points_l
from recipes.brewing.roles import Family, FermentableKind, Use

_NOISE = 1e-9
_BULK = frozenset({Family.BASE_MALT, Family.WHEAT_MALT, Family.RYE_MALT, Family.HIGH_KILNED})


@dataclass(frozen=True, kw_only=True)
class MadeUp:
    """A grist in whole containers.

    Attributes
    ----------
    fermentables: the lines in their old order, with their new weights.
    reasons: why each line that changed did.
    missing_l: litre-degrees that nothing could make up; below zero where there are too many.
    """

    fermentables: tuple[Fermentable, ...]
    reasons: tuple[str, ...]
    missing_l: float


def made_up(fermentables: Sequence[Fermentable], mash_efficiency: float) -> MadeUp:
    """Return a grist with its tins and sachets whole, at the same original gravity."""
    lines = list(fermentables)
    reasons: list[str] = []
    missing_l = 0.0
    for place, line in enumerate(fermentables):
        if line.container_kg is None or line.kg == 0:
            continue
        if line.use is Use.PRIMING:
            lines[place], said, left_l = *_priming(line, line.container_kg), 0.0
        else:
            lines[place], said, left_l = _packed(lines, place, line.container_kg, mash_efficiency)
        missing_l += left_l
        if said:
            reasons.append(f"{line.name}: {said}")
    return MadeUp(fermentables=tuple(lines), reasons=tuple(reasons), missing_l=missing_l)


def _packed(
    lines: list[Fermentable], place: int, container_kg: float, mash_efficiency: float
) -> tuple[Fermentable, str, float]:
    """Return the line in whole containers, having made up the rest in ``lines``; why; the rest."""
    line = lines[place]
    exact = line.kg / positive(f"container of {line.name}", container_kg)
    filler = _divisible(lines, line, mash_efficiency)
    whole = max(1, math.floor(exact + _NOISE if filler is not None else exact + 0.5 + _NOISE))
    if math.isclose(whole, exact, rel_tol=_NOISE):
        return line, "", 0.0
    packed = replace(line, kg=whole * container_kg)
    missing_l = points_l(line, mash_efficiency) - points_l(packed, mash_efficiency)
    said = f"{line.kg:.2f} kg in {_containers(whole, container_kg)}"
    if filler is None:
        return packed, f"{said}; nothing divisible makes up {_more(missing_l)}", missing_l
    lines[filler], made, left_l = _filled(lines[filler], missing_l, mash_efficiency)
    return packed, f"{said}; {made}", left_l


def _divisible(
    lines: Sequence[Fermentable], line: Fermentable, mash_efficiency: float
) -> int | None:
    """Return the place of what makes up for a line: its family, else the largest bulk extract."""

    def given_l(place: int) -> float:
        return points_l(lines[place], mash_efficiency)

    places = [
        place
        for place, other in enumerate(lines)
        if other.container_kg is None and other.use is not Use.PRIMING and given_l(place) > 0
    ]
    kin = [place for place in places if line.family and lines[place].family is line.family]
    bulk = [place for place in places if _is_bulk(lines[place])]
    return max(kin or bulk, key=given_l, default=None)


def _is_bulk(line: Fermentable) -> bool:
    if line.kind is FermentableKind.EXTRACT:
        return True
    return line.use is Use.MASH and line.family in _BULK


def _filled(
    filler: Fermentable, missing_l: float, mash_efficiency: float
) -> tuple[Fermentable, str, float]:
    """Return the divisible line with the rest on it, in words, and what it could not take."""
    per_kg = points_l(replace(filler, kg=1.0), mash_efficiency)
    kg = max(0.0, filler.kg + missing_l / per_kg)
    left_l = missing_l - (kg - filler.kg) * per_kg
    change = f"{abs(kg - filler.kg):.2f} kg {'more' if missing_l > 0 else 'less'} {filler.name}"
    if missing_l > 0:
        return replace(filler, kg=kg), f"{change} makes up the {_degrees(missing_l)}", 0.0
    if left_l > -_NOISE:
        return replace(filler, kg=kg), f"{change} takes back the {_degrees(missing_l)}", 0.0
    return replace(filler, kg=kg), f"{change}, and still {_more(left_l)}", left_l


def _priming(line: Fermentable, container_kg: float) -> tuple[Fermentable, str]:
    whole = math.floor(line.kg / positive(f"container of {line.name}", container_kg) + _NOISE)
    if whole == 0:
        return line, (
            f"{line.kg * 1000:.0f} g is to be weighed out of one of {container_kg * 1000:.0f} g; "
            "all of it could burst bottles"
        )
    packed = replace(line, kg=whole * container_kg)
    if math.isclose(packed.kg, line.kg, rel_tol=_NOISE):
        return line, ""
    words = _containers(whole, container_kg)
    return packed, f"{line.kg:.3f} kg in {words}, rounded down: more could burst bottles"


def _containers(whole: int, container_kg: float) -> str:
    count = "one" if whole == 1 else str(whole)
    return f"{count} of {container_kg:g} kg"


def _degrees(missing_l: float) -> str:
    return f"{abs(missing_l):.0f} litre-degrees"


def _more(missing_l: float) -> str:
    return f"{_degrees(missing_l)} too {'few' if missing_l > 0 else 'many'}"
