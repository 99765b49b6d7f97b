"""A hop stand: hops go on isomerising in hot wort after the heat is off.

A minute at T counts as k1(T) / k1(100 C) minutes of boiling, with k1 = 7.9e11 * exp(-11858 / T) per
minute, T in kelvin. The temperature falls in a straight line, and the integral over it is the
stand's *equivalent minutes*, which Tinseth's formula then takes for boiling.

>>> whole = Stand(minutes=20.0, from_c=95.0, to_c=80.0)
>>> equivalent_minutes(whole)
7.1
>>> equivalent_minutes(whole, last_minutes=10.0)  # of hops that go in half way, at 87.5 C
2.4
>>> equivalent_minutes(Stand(minutes=20.0, from_c=100.0, to_c=100.0))
20.0

Source of the rates: M. G. Malowicki and T. H. Shellhammer, J. Agric. Food Chem. 53:4434 (2005),
measured from 90 to 130 C. Below 90 C they are an extrapolation. Setting them into Tinseth's formula
is our own, and so is the straight line.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np

from boxwort.figures import share as percent
from boxwort.working import Term, Working, not_negative, positive

SOURCE = (
    "M. G. Malowicki and T. H. Shellhammer, J. Agric. Food Chem. 53:4434 (2005); "
    "cooling in a straight line: our own"
)
FORMULA = "integral of k1(T) / k1(100 C) over the time; k1 = 7.9e11 * exp(-11858 / T), T in kelvin"

COLDEST_C = 40.0
BOILING_C = 100.0
MEASURED_FROM_C = 90.0
_KELVIN_AT_0_C = 273.15
# Gauss's rule with 12 points: from 100 to 40 C its relative error is below 1e-13
_POINTS, _WEIGHTS = (part.tolist() for part in np.polynomial.legendre.leggauss(12))


@dataclass(frozen=True, kw_only=True)
class Rate:
    """A first-order rate by temperature: ``per_minute * exp(-kelvin / T)``."""

    per_minute: float
    kelvin: float

    def at(self, celsius: float) -> float:
        """Return the rate per minute at a temperature in degrees C."""
        return self.per_minute * math.exp(-self.kelvin / (celsius + _KELVIN_AT_0_C))


ISOMERISATION = Rate(per_minute=7.9e11, kelvin=11858.0)
"""k1: alpha acid becomes iso-alpha acid."""
DECAY = Rate(per_minute=4.1e12, kelvin=12994.0)
"""k2: iso-alpha acid is lost again."""


@dataclass(frozen=True, kw_only=True)
class Stand:
    """A declared hop stand: the temperature falls in a straight line.

    Attributes
    ----------
    minutes: from flame-out to the end of the stand.
    from_c, to_c: degrees Celsius when it begins and when it ends.

    Raises
    ------
    ValueError: no time, warmer at the end, or not between 40 and 100 C.
    """

    minutes: float
    from_c: float
    to_c: float

    def __post_init__(self) -> None:
        positive("time of the hop stand", self.minutes)
        for temperature_c in (self.from_c, self.to_c):
            if not COLDEST_C <= temperature_c <= BOILING_C:
                msg = (
                    f"a hop stand is in hot wort, {COLDEST_C:g} to {BOILING_C:g} C, "
                    f"and was given {temperature_c:g} C"
                )
                raise ValueError(msg)
        if self.to_c > self.from_c:
            msg = (
                f"a hop stand only cools: it cannot end at {self.to_c:g} C when it begins at "
                f"{self.from_c:g} C"
            )
            raise ValueError(msg)

    def temperature_c(self, minutes_left: float) -> float:
        """Return the temperature in degrees C when this many minutes of the stand are left."""
        return self.to_c + (self.from_c - self.to_c) * minutes_left / self.minutes


def equivalent_minutes(stand: Stand, last_minutes: float | None = None) -> float:
    """Return the minutes of boiling that a stand counts for.

    Parameters
    ----------
    last_minutes: how long before its end the hops go in; never more than the stand, which None
        means.
    """
    counted = _counted(stand, last_minutes)
    return _integral(ISOMERISATION, stand, counted) / ISOMERISATION.at(BOILING_C)


def stand_working(stand: Stand, last_minutes: float | None = None) -> Working:
    """Return :func:`equivalent_minutes` with its working."""
    counted = _counted(stand, last_minutes)
    warmest_c = stand.temperature_c(counted)
    lost = -math.expm1(-_integral(DECAY, stand, counted))
    return Working(
        name="Hop stand",
        formula=FORMULA,
        terms=(
            Term(name="time", value=counted, unit="min"),
            Term(name="temperature when the hops meet it", value=warmest_c, unit="°C"),
            Term(name="temperature at its end", value=stand.to_c, unit="°C"),
            Term(name="k1(100 C)", value=ISOMERISATION.at(BOILING_C), unit="per minute"),
            Term(
                name="k1 when the hops meet it",
                value=ISOMERISATION.at(warmest_c),
                unit="per minute",
            ),
            Term(name="k1 at its end", value=ISOMERISATION.at(stand.to_c), unit="per minute"),
        ),
        value=equivalent_minutes(stand, counted),
        unit="min at 100 °C",
        source=SOURCE,
        notes=(
            *_extrapolation(stand, counted),
            f"Not counted: iso-alpha acid lost again in this time, {percent(lost)} of what is "
            "there by k2 of the same source.",
        ),
    )


def _counted(stand: Stand, last_minutes: float | None) -> float:
    if last_minutes is None:
        return stand.minutes
    return min(not_negative("time in the hop stand", last_minutes), stand.minutes)


def _integral(rate: Rate, stand: Stand, last_minutes: float) -> float:
    """Return the integral of a rate over the last minutes of a stand."""
    half = last_minutes / 2
    return half * math.fsum(
        weight * rate.at(stand.temperature_c(half * (1 + point)))
        for point, weight in zip(_POINTS, _WEIGHTS, strict=True)
    )


def _extrapolation(stand: Stand, last_minutes: float) -> tuple[str, ...]:
    """Say for how long the wort is colder than where the rate was measured."""
    if stand.to_c >= MEASURED_FROM_C:
        return ()
    warmest_c = stand.temperature_c(last_minutes)
    below = last_minutes
    if warmest_c > MEASURED_FROM_C:
        below *= (MEASURED_FROM_C - stand.to_c) / (warmest_c - stand.to_c)
    return (
        f"The rate was measured from 90 to 130 C; {below:.1f} of these {last_minutes:g} min are "
        "below 90 C, where it is an extrapolation.",
    )
