"""The gravity of the boil that each hop addition meets.

The rule: the arithmetic mean of the gravity before and after the boil (volumes at 20 C), of what is
in the kettle and not of the topped-up wort. Extract that goes in late counts for the share of *that
addition's* contact during which it was there; extract at flame-out counts for none. Hops with the
heat off meet the gravity of the boil's end by the same rule. Time in a hop stand does not weigh in,
and so cannot take back what the boil has made.

>>> schedule = BoilSchedule(
...     pre_boil_volume_l=12.0, post_boil_volume_l=10.0,
...     extracts=(
...         KettleExtract(name="Pale extract", points_l=480.0, minutes=None),
...         KettleExtract(name="Late extract", points_l=480.0, minutes=15.0),
...     ),
... )
>>> boil_gravity_for(60, schedule)  # the late extract is there a quarter of the hour
1.055
>>> boil_gravity_for(15, schedule)  # and all of the last quarter
1.088

Sources: the average over the boil, G. Tinseth; the time weighting for late extract is our own.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from boxwort.working import Term, Working, not_negative, positive
from recipes.brewing.gravity import sg_from_points


@dataclass(frozen=True, kw_only=True)
class KettleExtract:
    """Extract that boils: its litre-degrees, and how many minutes before flame-out it goes in.

    ``minutes`` is None for what is in the kettle from the start.
    """

    name: str
    points_l: float
    minutes: float | None = None

    def presence(self, contact_minutes: float) -> float:
        """Return the share, 0-1, of the last ``contact_minutes`` for which it is in the kettle."""
        if self.minutes is None:
            return 1.0
        boiled = not_negative(f"boil time of {self.name}", self.minutes)
        if contact_minutes == 0:
            return 1.0 if boiled > 0 else 0.0
        return min(boiled, contact_minutes) / contact_minutes


@dataclass(frozen=True, kw_only=True)
class BoilSchedule:
    """What boils in how much: volumes at 20 C in litres, before and after the boil."""

    pre_boil_volume_l: float
    post_boil_volume_l: float
    extracts: tuple[KettleExtract, ...]

    def __post_init__(self) -> None:
        positive("volume before the boil", self.pre_boil_volume_l)
        positive("volume after the boil", self.post_boil_volume_l)
        if self.post_boil_volume_l > self.pre_boil_volume_l:
            msg = (
                f"a boil only loses water: {self.post_boil_volume_l:g} L after it is more than "
                f"{self.pre_boil_volume_l:g} L before it"
            )
            raise ValueError(msg)


def boil_gravity_for(minutes: float, schedule: BoilSchedule) -> float:
    """Return the specific gravity that hops boiled for the last ``minutes`` meet on average."""
    not_negative("boil time", minutes)
    points_l = math.fsum(
        extract.points_l * extract.presence(minutes) for extract in schedule.extracts
    )
    before = points_l / schedule.pre_boil_volume_l
    after = points_l / schedule.post_boil_volume_l
    return sg_from_points((before + after) / 2)


def boil_gravity(minutes: float, schedule: BoilSchedule) -> Working:
    """Return :func:`boil_gravity_for` with its working, one part for each extract in the kettle."""
    return Working(
        name="Boil gravity",
        formula=(
            "1 + (sum of parts / volume before the boil + sum of parts / volume after the boil)"
            " / 2 / 1000"
        ),
        terms=(
            Term(name="contact", value=minutes, unit="min"),
            Term(name="volume before the boil", value=schedule.pre_boil_volume_l, unit="L"),
            Term(name="volume after the boil", value=schedule.post_boil_volume_l, unit="L"),
        ),
        value=boil_gravity_for(minutes, schedule),
        unit="SG",
        source="average over the boil: G. Tinseth; time weighting of late extract: our own",
        parts=tuple(_extract_working(extract, minutes) for extract in schedule.extracts),
    )


def _extract_working(extract: KettleExtract, contact_minutes: float) -> Working:
    presence = extract.presence(contact_minutes)
    return Working(
        name=extract.name,
        formula="extract * share of the contact",
        terms=(
            Term(name="extract", value=extract.points_l, unit="litre-degrees"),
            Term(name="share of the contact", value=presence, unit=""),
        ),
        value=extract.points_l * presence,
        unit="litre-degrees",
        source="our own",
    )
