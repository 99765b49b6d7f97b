"""Bitterness after Tinseth: what share of the alpha acid ends up in the beer, and as how many IBU.

utilisation = 1.65 * 0.000125^(G - 1) * (1 - e^(-0.04 t)) / 4.15, and IBU = utilisation * alpha *
grams * 1000 / litres of finished beer: milligrams of alpha acid per litre that were isomerised.

>>> utilisation(1.050, 60.0)
0.2306
>>> ibu_per_gram(1.050, 60.0, 20.0) * 0.05 * 28
16.1

The formula knows only boiling. A declared hop stand is counted as minutes of boiling (see
:mod:`recipes.brewing.stand`) and added to t; G stays that of the addition's own boil, so a stand
never takes bitterness away. Without one, flame-out and whirlpool additions count no minutes. Dry
hops never count.

Source: G. Tinseth, "Glenn's Hop Utilization Numbers" (1990s). He recommends the average gravity
over the boil and the volume of finished beer. Form factors of 1 are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from boxwort.working import Numbers, Term, Working, not_negative, positive, share
from recipes.brewing.roles import Use

SOURCE = 'G. Tinseth, "Glenn\'s Hop Utilization Numbers"'
FORMULA = (
    "utilisation * alpha / 100 * weight * form factor * 1000 / finished volume, "
    "utilisation = 1.65 * 0.000125^(boil gravity - 1) * (1 - exp(-0.04 * time counted)) / 4.15"
)
FORM_FACTORS: Mapping[str, float] = {"pellet": 1.0, "cone": 1.0, "plug": 1.0}
"""What a form isomerises next to the others, unless the site says otherwise."""

_BOILED = frozenset({Use.FIRST_WORT, Use.BOIL})
_HEAT_OFF = frozenset({Use.FLAME_OUT, Use.WHIRLPOOL})
_COLD = frozenset({Use.DRY_HOP, Use.FERMENTER})
_BIGNESS = math.log(0.000125)


@dataclass(frozen=True, kw_only=True)
class HopAddition:
    """One addition of one hop.

    Attributes
    ----------
    name: what the brewer reads.
    grams: weight.
    alpha: alpha acid as a share, 0-1 (5 % is 0.05).
    minutes: how long it boils; looked at only for first-wort and boil additions.
    boil_gravity: specific gravity of the boil, averaged over this addition's contact.
    form_factor: 1.0 unless the lot's form differs from the reference form.
    use: when it goes in.
    stand_minutes: minutes of boiling that a hop stand counts for; looked at only for hops in the
        kettle.
    notes: how the minutes were come by, where they are not simply its own.
    parts: the working of ``stand_minutes``.
    """

    name: str
    grams: float
    alpha: float
    minutes: float
    boil_gravity: float
    form_factor: float = 1.0
    use: Use = Use.BOIL
    stand_minutes: float = 0.0
    notes: tuple[str, ...] = ()
    parts: tuple[Working, ...] = ()

    @property
    def stood_minutes(self) -> float:
        """Minutes of boiling that the hop stand counts for: none for a dry hop."""
        stood = not_negative("time in the hop stand", self.stand_minutes)
        return 0.0 if self.use in _COLD else stood

    @property
    def counted_minutes(self) -> float:
        """Minutes of boiling that this addition counts for in all."""
        return contact_minutes(self.use, self.minutes) + self.stood_minutes

    def ibu_per_gram(self, finished_volume_l: float) -> float:
        """Return the IBU of one gram of pure alpha acid in this addition; zero for a dry hop."""
        return ibu_per_gram(
            self.boil_gravity, self.counted_minutes, finished_volume_l, self.form_factor
        )

    def ibu(self, finished_volume_l: float) -> float:
        """Return the bitterness this addition gives."""
        grams = not_negative(f"weight of {self.name}", self.grams)
        alpha = share(f"alpha acid of {self.name}", self.alpha)
        return grams * alpha * self.ibu_per_gram(finished_volume_l)


def utilisation(boil_gravity_sg: Numbers, minutes: Numbers) -> Numbers:
    """Return the share of alpha acid isomerised, 0-1, after ``minutes`` in a boil of this SG."""
    positive("boil gravity", boil_gravity_sg)
    not_negative("boil time", minutes)
    bigness = 1.65 * (1 + _expm1(_BIGNESS * (boil_gravity_sg - 1)))
    return bigness * -_expm1(-0.04 * minutes) / 4.15


def ibu_per_gram(
    boil_gravity_sg: Numbers,
    minutes: Numbers,
    finished_volume_l: Numbers,
    form_factor: float = 1.0,
) -> Numbers:
    """Return the IBU of one gram of pure alpha acid; multiply by grams of hop and alpha (0-1)."""
    positive("finished volume", finished_volume_l)
    positive("form factor", form_factor)
    return utilisation(boil_gravity_sg, minutes) * form_factor * 1000 / finished_volume_l


def form_factor_between(
    reference_form: str, lot_form: str, factors: Mapping[str, float] = FORM_FACTORS
) -> float:
    """Return what a lot isomerises next to the form the recipe was written for.

    Exactly 1 when the forms are the same, whatever the factors.

    >>> form_factor_between("pellet", "cone", {"pellet": 1.10, "cone": 1.00})
    0.909
    """
    if reference_form == lot_form:
        return 1.0
    for form in (reference_form, lot_form):
        if form not in factors:
            msg = f"there is no form factor for hops as {form}; known are {', '.join(factors)}"
            raise ValueError(msg)
        positive(f"form factor of {form}", factors[form])
    return factors[lot_form] / factors[reference_form]


def contact_minutes(use: Use, minutes: float) -> float:
    """Return the minutes an addition boils: its own for boiled hops, else zero.

    Raises
    ------
    ValueError: hops in the mash, the steep or the priming, for which there is no rule.
    """
    if use in _BOILED:
        return not_negative("boil time", minutes)
    if use in _HEAT_OFF | _COLD:
        return 0.0
    msg = f"hops are not counted in the {use.value}; use the boil, flame-out or dry hop"
    raise ValueError(msg)


def bitterness(additions: Sequence[HopAddition], finished_volume_l: float) -> Working:
    """Return the IBU of a beer, with one part for each addition."""
    positive("finished volume", finished_volume_l)
    parts = tuple(_addition_working(addition, finished_volume_l) for addition in additions)
    return Working(
        name="Bitterness",
        formula="sum of the additions",
        terms=tuple(Term(name=part.name, value=part.value, unit="IBU") for part in parts),
        value=math.fsum(part.value for part in parts),
        unit="IBU",
        source=SOURCE,
        parts=parts,
    )


def _addition_working(addition: HopAddition, finished_volume_l: float) -> Working:
    boiled = contact_minutes(addition.use, addition.minutes)
    counted, gravity = addition.counted_minutes, addition.boil_gravity
    return Working(
        name=addition.name,
        formula=FORMULA,
        terms=(
            Term(name="alpha", value=addition.alpha * 100, unit="%"),
            Term(name="weight", value=addition.grams, unit="g"),
            Term(name="boil time", value=boiled, unit="min"),
            Term(name="hop stand as boil time", value=addition.stood_minutes, unit="min"),
            Term(name="time counted", value=counted, unit="min"),
            Term(name="boil gravity", value=gravity, unit="SG"),
            Term(name="utilisation", value=utilisation(gravity, counted), unit=""),
            Term(name="form factor", value=addition.form_factor, unit=""),
            Term(name="finished volume", value=finished_volume_l, unit="L"),
        ),
        value=addition.ibu(finished_volume_l),
        unit="IBU",
        source=SOURCE,
        notes=_notes(addition),
        parts=addition.parts,
    )


def _notes(addition: HopAddition) -> tuple[str, ...]:
    if addition.use in _COLD:
        return ("Hops in the fermenter are not boiled and count as 0 IBU.",)
    if addition.stand_minutes:
        return (
            *addition.notes,
            "The hop stand is counted as minutes of boiling, at the gravity of the boil; setting "
            "it into Tinseth's formula is our own.",
        )
    if addition.use in _HEAT_OFF:
        return ("No hop stand is declared, so an addition with the heat off counts 0 minutes.",)
    return addition.notes


def _expm1(power: Numbers) -> Numbers:
    """Return e^power - 1, exact for a small power too."""
    if isinstance(power, np.ndarray):
        return np.expm1(power)
    return math.expm1(power)
