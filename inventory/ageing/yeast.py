"""Viability of liquid yeast and activity of dry yeast over time.

Liquid, in whole days from packaging, by the rule the strain names: *linear* loses 0.7 % of the
original a day, so 0.7 percentage points of a full pack also from a later count on; *exponential*
keeps 79 % every 30 days. Both are published for the refrigerator.
Days that were warmer count as more days in it: twice as many for every 10 degrees above 4 C, after
van 't Hoff's rule of thumb. That is our own choice, not a measurement of yeast; colder than 4 C
counts as 4 C, and above 40 C no rule is offered, because little lives long there.

Dry, sealed: about 4-5 % a year is lost at 4 C and 20 % at 20 C; between the two the logarithm of
the rate of loss is interpolated and above 20 C it is drawn on, which is ours, and below 4 C the
loss at 4 C is taken.

Storage, transit and the customer's shelf are stretches, each at its own temperature:

>>> journey = (
...     LiquidStretch(days=30, temperature_c=4.0, name="Storage"),
...     LiquidStretch(days=3, temperature_c=24.0, name="Transit"),
...     LiquidStretch(days=20, temperature_c=4.0, name="Customer's shelf"),
... )
>>> viability_after(ViabilityRule.LINEAR, journey).value  # 30 + 3 * 4 + 20 days at 0.7 %
56.6
>>> viability(ViabilityRule.LINEAR, 30).value, viability(ViabilityRule.EXPONENTIAL, 30).value
(79.0, 79.0)
>>> yearly_loss(12.0)
0.0964

Sources: makers' specifications (a liquid pack of about 100e9 cells, 75-85 % viable after 30 days);
both rules are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np

from boxwort.working import Numbers, Term, Working, not_negative, share

LINEAR_LOSS_PER_DAY = 0.007
EXPONENTIAL_LOSS_PER_30_DAYS = 0.21
COLD_C, COLD_YEARLY_LOSS = 4.0, 0.045
ROOM_C, ROOM_YEARLY_LOSS = 20.0, 0.20
DAYS_PER_YEAR = 365
HOTTEST_C = 45.0
REFRIGERATED_C = 4.0
DEGREES_PER_DOUBLING = 10.0
HOTTEST_LIQUID_C = 40.0
LIQUID_SOURCE = "common practice; 75-85 % after 30 days by the makers"
WARMTH_SOURCE = "our own choice, after van 't Hoff's rule of thumb: twice as fast every 10 C"
DRY_SOURCE = "a maker's specification: sealed loss about 4-5 % a year at 4 C, about 20 % at 20 C"


class ViabilityRule(StrEnum):
    """How liquid yeast dies in the refrigerator."""

    LINEAR = "linear"
    EXPONENTIAL = "exponential"


@dataclass(frozen=True, kw_only=True)
class LiquidStretch:
    """Whole days that a liquid pack lay at one temperature, degrees C; ``name`` says where."""

    days: int
    temperature_c: float
    name: str = "Storage"

    def __post_init__(self) -> None:
        not_negative("days in storage", self.days)
        warmth_factor(self.temperature_c)

    @property
    def refrigerated_days(self) -> float:
        """Days at 4 C in which as much of the yeast dies."""
        return self.days * warmth_factor(self.temperature_c)


@dataclass(frozen=True, kw_only=True)
class DryStretch:
    """Whole days that a sealed sachet lay at one temperature, degrees C; ``name`` says where."""

    days: int
    temperature_c: float
    name: str = "Storage"

    def __post_init__(self) -> None:
        not_negative("days in storage", self.days)
        yearly_loss(self.temperature_c)


def warmth_factor(temperature_c: float) -> float:
    """Return how many days at 4 C a day at this temperature costs liquid yeast; at least 1.

    >>> warmth_factor(4.0), warmth_factor(14.0), warmth_factor(-2.0)
    (1.0, 2.0, 1.0)

    Raises
    ------
    ValueError: hotter than 40 C, where liquid yeast does not live long by any rule.
    """
    if not temperature_c <= HOTTEST_LIQUID_C:
        msg = (
            f"{temperature_c:g} degrees C is no store for liquid yeast; give at most "
            f"{HOTTEST_LIQUID_C:g}"
        )
        raise ValueError(msg)
    return float(2 ** (max(0.0, temperature_c - REFRIGERATED_C) / DEGREES_PER_DOUBLING))


def viable_share(rule: ViabilityRule, days: Numbers, at_start: float = 1.0) -> Numbers:
    """Return the share, 0-1, of a full pack's cells that live after ``days`` refrigerated.

    ``at_start`` of them lived when the days began. Takes an array of days as well.

    >>> viable_share(ViabilityRule.LINEAR, np.array([0.0, 100.0, 200.0]))
    array([1. , 0.3, 0. ])
    """
    aged = not_negative("age of the yeast", days)
    if rule is ViabilityRule.EXPONENTIAL:
        left: Numbers = at_start * (1 - EXPONENTIAL_LOSS_PER_30_DAYS) ** (aged / 30)
        return left
    if isinstance(aged, np.ndarray):
        return np.maximum(0.0, at_start - LINEAR_LOSS_PER_DAY * aged)
    return max(0.0, at_start - LINEAR_LOSS_PER_DAY * aged)


def viability(rule: ViabilityRule, days: int) -> Working:
    """Return the viability, in percent, whole days since packaging, refrigerated all the time."""
    not_negative("age of the yeast", days)
    return viability_after(rule, (LiquidStretch(days=days, temperature_c=REFRIGERATED_C),))


def viability_after(
    rule: ViabilityRule, stretches: Sequence[LiquidStretch], at_start: float = 1.0
) -> Working:
    """Return the viability, in percent, of a liquid yeast, with one part for each stretch.

    Parameters
    ----------
    stretches: where it has lain since packaging or since it was counted, in any order.
    at_start: viability then, 0-1; 1.0 at packaging, where a pack is sold by its living cells.
    """
    linear = rule is ViabilityRule.LINEAR
    lost = LINEAR_LOSS_PER_DAY if linear else EXPONENTIAL_LOSS_PER_30_DAYS
    started = share("viability at the start", at_start)
    aged = math.fsum(stretch.refrigerated_days for stretch in stretches)
    return Working(
        name="Viability",
        formula=(
            "viability at the start - loss * sum of parts, not below zero"
            if linear
            else "viability at the start * (1 - loss / 100)^(sum of parts / 30)"
        ),
        terms=(
            Term(name="viability at the start", value=started * 100, unit="%"),
            Term(name="age", value=float(sum(each.days for each in stretches)), unit="days"),
            Term(name="sum of parts", value=aged, unit="days at 4 °C"),
            Term(
                name="loss",
                value=lost * 100,
                unit="% of a full pack per day" if linear else "% per 30 days",
            ),
        ),
        value=viable_share(rule, aged, started) * 100,
        unit="%",
        source=LIQUID_SOURCE,
        notes=_liquid_notes(stretches),
        parts=tuple(_refrigerated_working(stretch) for stretch in stretches),
    )


def yearly_loss(temperature_c: float) -> float:
    """Return the share, 0-1, of dry yeast's activity lost in a year at this temperature.

    Raises
    ------
    ValueError: hotter than 45 C, where dry yeast is not stored but killed.
    """
    if not temperature_c <= HOTTEST_C:
        msg = f"{temperature_c:g} degrees C is no store for dry yeast; give at most {HOTTEST_C:g}"
        raise ValueError(msg)
    along = max(0.0, (temperature_c - COLD_C) / (ROOM_C - COLD_C))
    cold, room = (math.log1p(-lost) for lost in (COLD_YEARLY_LOSS, ROOM_YEARLY_LOSS))
    return -math.expm1(cold * (room / cold) ** along)


def active_share(stretches: Sequence[DryStretch]) -> float:
    """Return the share, 0-1, of a dry yeast's activity that is left."""
    return math.prod(_kept(stretch) for stretch in stretches)


def dry_activity(stretches: Sequence[DryStretch], at_start: float = 1.0) -> Working:
    """Return the activity of a sealed dry yeast in percent of fresh, one part for each stretch.

    ``at_start`` is its activity when the first stretch began, 0-1.
    """
    started = share("activity at the start", at_start)
    return Working(
        name="Activity of dry yeast",
        formula="activity at the start * product of parts",
        terms=(Term(name="activity at the start", value=started * 100, unit="%"),),
        value=started * active_share(stretches) * 100,
        unit="%",
        source=DRY_SOURCE,
        notes=_dry_notes(stretches),
        parts=tuple(_kept_working(stretch) for stretch in stretches),
    )


def _kept(stretch: DryStretch) -> float:
    return float((1 - yearly_loss(stretch.temperature_c)) ** (stretch.days / DAYS_PER_YEAR))


def _kept_working(stretch: DryStretch) -> Working:
    return Working(
        name=stretch.name,
        formula="(1 - yearly loss)^(days / 365)",
        terms=(
            Term(name="days", value=float(stretch.days), unit="days"),
            Term(name="temperature", value=stretch.temperature_c, unit="°C"),
            Term(name="yearly loss", value=yearly_loss(stretch.temperature_c), unit=""),
        ),
        value=_kept(stretch),
        unit="",
        source=DRY_SOURCE,
    )


def _refrigerated_working(stretch: LiquidStretch) -> Working:
    return Working(
        name=stretch.name,
        formula="days * 2^((temperature - 4) / 10), at least days",
        terms=(
            Term(name="days", value=float(stretch.days), unit="days"),
            Term(name="temperature", value=stretch.temperature_c, unit="°C"),
        ),
        value=stretch.refrigerated_days,
        unit="days at 4 °C",
        source=WARMTH_SOURCE,
    )


def _liquid_notes(stretches: Sequence[LiquidStretch]) -> tuple[str, ...]:
    notes = []
    if any(stretch.temperature_c > REFRIGERATED_C for stretch in stretches):
        notes.append(
            "The loss is published for the refrigerator. Warmer days count as more days in it, "
            "twice as many for every 10 C above 4 C: our own choice."
        )
    if any(stretch.temperature_c < REFRIGERATED_C for stretch in stretches):
        notes.append("Below 4 C the loss at 4 C is taken.")
    return tuple(notes)


def _dry_notes(stretches: Sequence[DryStretch]) -> tuple[str, ...]:
    notes = ["Between 4 C and 20 C the logarithm of the rate of loss is interpolated."]
    if any(stretch.temperature_c < COLD_C for stretch in stretches):
        notes.append("Below 4 C the loss at 4 C is taken.")
    if any(stretch.temperature_c > ROOM_C for stretch in stretches):
        notes.append("Above 20 C the loss is an extrapolation.")
    return tuple(notes)
