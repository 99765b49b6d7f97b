"""Bitterness after Tinseth: what share of the alpha acid ends up in the beer, and as how many IBU.

utilisation = 1.65 * 0.000125^(G - 1) * (1 - e^(-0.04 t)) / 4.15, and IBU = utilisation * alpha *
grams * 1000 / litres of finished beer: milligrams of alpha acid per litre that were isomerised.

>>> utilisation(1.050, 60)
0.2306
>>> ibu_per_gram(1.050, 60, 20.0) * 0.05 * 28
16.1

Source: G. Tinseth, "Glenn's Hop Utilization Numbers" (1990s). He recommends the average gravity
over the boil and the volume of finished beer. Dry hops, and flame-out additions without a declared
hop stand, count as zero: the formula knows only boiling.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from boxwort.working import Term, Working, not_negative, positive, share
from recipes.brewing.roles import Use

SOURCE = 'G. Tinseth, "Glenn\'s Hop Utilization Numbers"'
FORMULA = "utilisation * alpha / 100 * weight * form factor * 1000 / finished volume"

_BOILED = frozenset({Use.FIRST_WORT, Use.BOIL})
_UNBOILED = frozenset({Use.FLAME_OUT, Use.WHIRLPOOL, Use.DRY_HOP, Use.FERMENTER})


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
    """

    name: str
    grams: float
    alpha: float
    minutes: float
    boil_gravity: float
    form_factor: float = 1.0
    use: Use = Use.BOIL

    def ibu_per_gram(self, finished_volume_l: float) -> float:
        """Return the IBU of one gram of pure alpha acid in this addition; zero for a dry hop."""
        return ibu_per_gram(
            self.boil_gravity,
            contact_minutes(self.use, self.minutes),
            finished_volume_l,
            self.form_factor,
        )

    def ibu(self, finished_volume_l: float) -> float:
        """Return the bitterness this addition gives."""
        grams = not_negative(f"weight of {self.name}", self.grams)
        alpha = share(f"alpha acid of {self.name}", self.alpha)
        return grams * alpha * self.ibu_per_gram(finished_volume_l)


def utilisation(boil_gravity_sg: float, minutes: float) -> float:
    """Return the share of alpha acid isomerised, 0-1, after ``minutes`` in a boil of this SG."""
    positive("boil gravity", boil_gravity_sg)
    not_negative("boil time", minutes)
    bigness = 1.65 * math.pow(0.000125, boil_gravity_sg - 1)
    return bigness * -math.expm1(-0.04 * minutes) / 4.15


def ibu_per_gram(
    boil_gravity_sg: float,
    minutes: float,
    finished_volume_l: float,
    form_factor: float = 1.0,
) -> float:
    """Return the IBU of one gram of pure alpha acid; multiply by grams of hop and alpha (0-1)."""
    positive("finished volume", finished_volume_l)
    positive("form factor", form_factor)
    return utilisation(boil_gravity_sg, minutes) * form_factor * 1000 / finished_volume_l


def contact_minutes(use: Use, minutes: float) -> float:
    """Return the minutes an addition boils: its own for boiled hops, else zero.

    Raises
    ------
    ValueError: hops in the mash, the steep or the priming, for which there is no rule.
    """
    if use in _BOILED:
        return not_negative("boil time", minutes)
    if use in _UNBOILED:
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
    minutes = contact_minutes(addition.use, addition.minutes)
    return Working(
        name=addition.name,
        formula=FORMULA,
        terms=(
            Term(name="alpha", value=addition.alpha * 100, unit="%"),
            Term(name="weight", value=addition.grams, unit="g"),
            Term(name="boil time", value=minutes, unit="min"),
            Term(name="boil gravity", value=addition.boil_gravity, unit="SG"),
            Term(name="utilisation", value=utilisation(addition.boil_gravity, minutes), unit=""),
            Term(name="form factor", value=addition.form_factor, unit=""),
            Term(name="finished volume", value=finished_volume_l, unit="L"),
        ),
        value=addition.ibu(finished_volume_l),
        unit="IBU",
        source=SOURCE,
        notes=_notes(addition.use),
    )


def _notes(use: Use) -> tuple[str, ...]:
    if use in (Use.FLAME_OUT, Use.WHIRLPOOL):
        return ("No hop stand is declared, so an addition with the heat off counts 0 minutes.",)
    if use in (Use.DRY_HOP, Use.FERMENTER):
        return ("Hops in the fermenter are not boiled and count as 0 IBU.",)
    return ()
