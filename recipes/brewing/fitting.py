"""A drafted grist brought to the figures it must meet: gravity, colour, body, then the boil.

Each step is linear in weights and so exact. Gravity is met with the *filler*, the largest bulk
ingredient. Colour and final gravity are only touched when they are outside the limits of
:mod:`recipes.brewing.parity`, and only within reason: colour by less or more of the crystal or
roasted malt that gives most of it, final gravity by sugar or dextrin in place of filler. What stays
apart is said, with the reason. Last, extract that would make a small boil heavier than the old one
is held back to flame-out, so that hops give what they gave and the wort does not darken.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from recipes.brewing.attenuation import apparent_attenuation
from recipes.brewing.extract import Fermentable, points_l, wort_fermentables
from recipes.brewing.figures import Brew, figures
from recipes.brewing.gravity import points_from_sg
from recipes.brewing.parity import PARITY_LIMITS
from recipes.brewing.roles import Family, FermentableKind, Use
from recipes.brewing.twins import COLOURED

LEAST_OF_A_COLOURED_MALT, MOST_OF_A_COLOURED_MALT = 0.5, 1.5
MOST_SWAPPED = 0.10
LEAST_HELD_BACK = 0.10
"""Our own bounds of reason: shares of a malt's weight, and of the extract. Beyond the first three
the draft would be another beer; below the last it is not worth a second bag."""

_THINNER = frozenset({Family.GLUCOSE, Family.GLUCOSE_MONOHYDRATE, Family.SUCROSE})
_FULLER = frozenset({Family.DEXTRIN})
_WORTH_WORDS_L = 0.5


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """A brew after a step: what was done to it, and what could not be."""

    brew: Brew
    reasons: tuple[str, ...] = ()
    warnings: tuple[str, ...] = ()


def filler_of(brew: Brew, counts: Callable[[Fermentable], bool]) -> int:
    """Return the place of the line that gives most extract, among those that count.

    Raises
    ------
    ValueError: none does.
    """
    places = [place for place, line in enumerate(brew.fermentables) if counts(line)]
    if not places:
        msg = "the draft has no extract or malt in bulk to meet the gravity with; add one"
        raise ValueError(msg)
    return max(places, key=lambda place: _given_l(brew, brew.fermentables[place]))


def with_gravity_of(target: Brew, draft: Brew, filler: int) -> Fitted:
    """Return ``draft`` at the original gravity of ``target``, met with the filler.

    Raises
    ------
    ValueError: the rest of the grist alone is too strong.
    """
    missing_l = _sum(target, _given_l) * _size(target, draft) - _sum(draft, _given_l)
    line = draft.fermentables[filler]
    more_kg = missing_l / _given_l(draft, replace(line, kg=1.0))
    if line.kg + more_kg < 0:
        msg = (
            f"the draft is {-missing_l:.0f} litre-degrees too strong even without {line.name}; use "
            "less of the other ingredients"
        )
        raise ValueError(msg)
    fitted = _with_kg(draft, filler, line.kg + more_kg)
    if abs(missing_l) < _WORTH_WORDS_L:
        return Fitted(brew=fitted)
    change = f"{abs(more_kg):.2f} kg {'more' if more_kg > 0 else 'less'} {line.name}"
    reason = f"{change} meets the gravity: {abs(missing_l):.0f} litre-degrees"
    return Fitted(brew=fitted, reasons=(reason,))


def with_colour_of(target: Brew, draft: Brew, filler: int) -> Fitted:
    """Return ``draft`` within the colour limit of ``target``, where its dark malt allows it."""
    if _within(target, draft, "srm"):
        return Fitted(brew=draft)
    missing = _sum(target, _colour) * _size(target, draft) - _sum(draft, _colour)
    gained = {
        place: _colour_per_kg(draft, line, draft.fermentables[filler])
        for place, line in enumerate(draft.fermentables)
        if line.family in COLOURED
    }
    place = max(
        gained, key=lambda place: gained[place] * draft.fermentables[place].kg, default=None
    )
    if place is None or gained[place] <= 0:
        why = "its extracts are of another colour than the malt, and no crystal or roasted malt"
        return Fitted(brew=draft, warnings=(f"colour: {why} is there to move",))
    malt = draft.fermentables[place]
    wanted_kg = malt.kg + missing / gained[place]
    kg = min(MOST_OF_A_COLOURED_MALT * malt.kg, max(LEAST_OF_A_COLOURED_MALT * malt.kg, wanted_kg))
    fitted = with_gravity_of(target, _with_kg(draft, place, kg), filler)
    reason = f"{malt.name} from {malt.kg:.2f} kg to {kg:.2f} kg for the colour"
    warnings = () if kg == wanted_kg else (f"colour: no more of {malt.name} was moved than half",)
    return replace(fitted, reasons=(reason, *fitted.reasons), warnings=warnings)


def with_body_of(target: Brew, draft: Brew, filler: int, stock: Sequence[Fermentable]) -> Fitted:
    """Return ``draft`` at the final gravity of ``target``, by sugar or dextrin for filler.

    Left alone where final gravity and alcohol are within their limits.
    """
    if _met(target, draft):
        return Fitted(brew=draft)
    missing_l = _sum(target, _left_l) * _size(target, draft) - _sum(draft, _left_l)
    families, what = (_FULLER, "dextrin") if missing_l > 0 else (_THINNER, "sugar")
    bulk = draft.fermentables[filler]
    gap = f"final gravity: {bulk.name} ferments {'further' if missing_l > 0 else 'less far'}"
    found = [each for each in stock if each.family in families and each.points_l_per_kg > 0]
    gained = [_goes(draft, bulk) - _goes(draft, each) for each in found]
    choice = max(zip(gained, found, strict=True), key=lambda pair: abs(pair[0]), default=None)
    if choice is None or missing_l * choice[0] <= 0:
        warning = f"{gap} than what it stands for, and no {what} in stock makes up for it"
        return Fitted(brew=draft, warnings=(warning,))
    per_point, sugar = choice
    wanted_l = missing_l / per_point
    swapped_l = min(wanted_l, MOST_SWAPPED * _sum(draft, _given_l), _given_l(draft, bulk))
    mixed = _with_more(draft, filler, sugar, swapped_l / sugar.points_l_per_kg)
    fitted = with_gravity_of(target, mixed, filler).brew
    reason = f"{swapped_l:.0f} litre-degrees of {bulk.name} as {sugar.name} for the final gravity"
    if _met(target, fitted):
        return Fitted(brew=fitted, reasons=(reason,))
    warning = f"{gap} than what it stands for; more {what} than a tenth would be another beer"
    return Fitted(brew=fitted, reasons=(reason,), warnings=(warning,))


def with_late_extract(target: Brew, draft: Brew, filler: int) -> Fitted:
    """Return ``draft`` with as much filler at flame-out as makes its boil as heavy as the old."""
    line = draft.fermentables[filler]
    boils = line.kind is FermentableKind.EXTRACT and line.use is Use.BOIL and not line.minutes
    if not boils or line.kg == 0:
        return Fitted(brew=draft)
    per_litre = (1 / draft.pre_boil_volume_l + 1 / draft.post_boil_volume_l) / 2
    heavier = figures(draft).boil_gravity.value - figures(target).boil_gravity.value
    share = min(1.0, points_from_sg(1 + heavier) / per_litre / _given_l(draft, line))
    if share < LEAST_HELD_BACK:
        return Fitted(brew=draft)
    late = replace(line, kg=line.kg * share, use=Use.FLAME_OUT)
    kept = _with_kg(draft, filler, line.kg - late.kg)
    return Fitted(
        brew=_with_line(kept, filler, late),
        reasons=(
            f"{late.kg:.2f} kg of {late.name} is held back to flame-out, with the heat off, so "
            "that hops meet the boil they met",
        ),
    )


def _met(target: Brew, draft: Brew) -> bool:
    return _within(target, draft, "fg") and _within(target, draft, "abv")


def _within(target: Brew, draft: Brew, figure: str) -> bool:
    one, other = (getattr(figures(brew), figure).value for brew in (target, draft))
    return PARITY_LIMITS[figure].met_by(one, other)


def _size(target: Brew, draft: Brew) -> float:
    return draft.wort_volume_l / target.wort_volume_l


def _sum(brew: Brew, of: Callable[[Brew, Fermentable], float]) -> float:
    return math.fsum(of(brew, line) for line in wort_fermentables(brew.fermentables))


def _given_l(brew: Brew, line: Fermentable) -> float:
    return points_l(line, brew.mash_efficiency)


def _left_l(brew: Brew, line: Fermentable) -> float:
    return _given_l(brew, line) * (1 - _goes(brew, line))


def _colour_per_kg(brew: Brew, malt: Fermentable, bulk: Fermentable) -> float:
    """Return what a kg more of a malt adds, with the filler that makes way for it taken out."""
    out_kg = _given_l(brew, replace(malt, kg=1.0)) / _given_l(brew, replace(bulk, kg=1.0))
    return malt.colour_lovibond - out_kg * bulk.colour_lovibond


def _colour(_: Brew, line: Fermentable) -> float:
    return line.kg * line.colour_lovibond


def _goes(brew: Brew, line: Fermentable) -> float:
    return apparent_attenuation(
        line.kind, fermentability=line.fermentability, strain_attenuation=brew.attenuation
    )


def _with_kg(brew: Brew, place: int, kg: float) -> Brew:
    lines = list(brew.fermentables)
    lines[place] = replace(lines[place], kg=kg)
    return replace(brew, fermentables=tuple(lines))


def _with_line(brew: Brew, place: int, line: Fermentable) -> Brew:
    """Return the brew with a new line after another."""
    lines = brew.fermentables
    return replace(brew, fermentables=(*lines[: place + 1], line, *lines[place + 1 :]))


def _with_more(brew: Brew, after: int, sugar: Fermentable, kg: float) -> Brew:
    """Return the brew with more of a sugar in the boil, on its own line where it has none."""
    for place, line in enumerate(brew.fermentables):
        if line.name == sugar.name and line.use is Use.BOIL:
            return _with_kg(brew, place, line.kg + kg)
    return _with_line(brew, after, replace(sugar, kg=kg, use=Use.BOIL, minutes=None))
