"""Viability of liquid yeast and activity of dry yeast over time.

Liquid, refrigerated, in whole days from packaging, by the rule the strain names: *linear* loses
0.7 % of the original a day, *exponential* keeps 79 % every 30 days. Dry, sealed: about 4-5 % a year
is lost at 4 C and 20 % at 20 C; between the two the logarithm of the yearly loss is interpolated,
which is ours, and below 4 C the loss at 4 C is taken.

>>> viability(ViabilityRule.LINEAR, 30).value, viability(ViabilityRule.EXPONENTIAL, 30).value
(79.0, 79.0)
>>> yearly_loss(12.0)
0.0949

Sources: makers' specifications (a liquid pack of about 100e9 cells, 75-85 % viable after 30 days);
both rules are common practice.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from enum import StrEnum

from boxwort.working import Term, Working, not_negative, positive, share

LINEAR_LOSS_PER_DAY = 0.007
EXPONENTIAL_LOSS_PER_30_DAYS = 0.21
COLD_C, COLD_YEARLY_LOSS = 4.0, 0.045
ROOM_C, ROOM_YEARLY_LOSS = 20.0, 0.20
DAYS_PER_YEAR = 365
HOTTEST_C = 45.0
DRY_SOURCE = "a maker's specification: sealed loss about 4-5 % a year at 4 C, about 20 % at 20 C"


class ViabilityRule(StrEnum):
    """How liquid yeast dies in the refrigerator."""

    LINEAR = "linear"
    EXPONENTIAL = "exponential"


@dataclass(frozen=True, kw_only=True)
class DryStretch:
    """Whole days that a sealed sachet lay at one temperature, degrees C."""

    days: int
    temperature_c: float

    def __post_init__(self) -> None:
        not_negative("days in storage", self.days)
        yearly_loss(self.temperature_c)


def viable_share(rule: ViabilityRule, days: int) -> float:
    """Return the share, 0-1, of the cells at packaging that live after ``days`` refrigerated."""
    not_negative("age of the yeast", days)
    if rule is ViabilityRule.LINEAR:
        return max(0.0, 1 - LINEAR_LOSS_PER_DAY * days)
    return float((1 - EXPONENTIAL_LOSS_PER_30_DAYS) ** (days / 30))


def viability(rule: ViabilityRule, days: int, *, at_packaging: float = 1.0) -> Working:
    """Return the viability of a liquid yeast in percent.

    Parameters
    ----------
    days: whole days since packaging, refrigerated.
    at_packaging: viability then, 0-1; 1.0 when the pack's cell count counts living cells.
    """
    linear = rule is ViabilityRule.LINEAR
    loss = (
        Term(name="loss", value=LINEAR_LOSS_PER_DAY * 100, unit="% of the original per day")
        if linear
        else Term(name="loss", value=EXPONENTIAL_LOSS_PER_30_DAYS * 100, unit="% per 30 days")
    )
    started = share("viability at packaging", at_packaging)
    return Working(
        name="Viability",
        formula=(
            "viability at packaging * (1 - loss / 100 * age), not below zero"
            if linear
            else "viability at packaging * (1 - loss / 100)^(age / 30)"
        ),
        terms=(
            Term(name="viability at packaging", value=started * 100, unit="%"),
            Term(name="age", value=float(days), unit="days"),
            loss,
        ),
        value=started * viable_share(rule, days) * 100,
        unit="%",
        source="common practice; 75-85 % after 30 days by the makers",
        notes=("Refrigerated all the time; a warm journey costs more.",),
    )


def last_day_serving(
    *,
    packaged_on: date,
    packs: int,
    cells_per_pack: float,
    cells_needed: float,
    rule: ViabilityRule,
    at_packaging: float = 1.0,
) -> date | None:
    """Return the last whole day on which ``packs`` still give ``cells_needed``.

    None when they did not even on the day of packaging.
    """
    positive("number of packs", packs)
    fresh = positive("cells per pack", cells_per_pack) * packs
    fresh *= share("viability at packaging", at_packaging)
    if fresh < positive("cells needed", cells_needed):
        return None
    # the logarithm may miss a whole day by its last bit, so the final days are counted
    days = max(0, _days_until(rule, cells_needed / fresh) - 1)
    while fresh * viable_share(rule, days + 1) >= cells_needed:
        days += 1
    return packaged_on + timedelta(days=days)


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
    step = math.log(ROOM_YEARLY_LOSS / COLD_YEARLY_LOSS)
    return min(1.0, COLD_YEARLY_LOSS * math.exp(along * step))


def active_share(stretches: Sequence[DryStretch]) -> float:
    """Return the share, 0-1, of a dry yeast's activity that is left."""
    return math.prod(_kept(stretch) for stretch in stretches)


def dry_activity(stretches: Sequence[DryStretch]) -> Working:
    """Return the activity of a sealed dry yeast in percent of fresh, one part for each stretch."""
    return Working(
        name="Activity of dry yeast",
        formula="100 * product of parts",
        terms=(),
        value=active_share(stretches) * 100,
        unit="%",
        source=DRY_SOURCE,
        notes=_dry_notes(stretches),
        parts=tuple(_kept_working(stretch) for stretch in stretches),
    )


def _days_until(rule: ViabilityRule, needed_share: float) -> int:
    if rule is ViabilityRule.LINEAR:
        return math.floor((1 - needed_share) / LINEAR_LOSS_PER_DAY)
    return math.floor(30 * math.log(needed_share) / math.log1p(-EXPONENTIAL_LOSS_PER_30_DAYS))


def _kept(stretch: DryStretch) -> float:
    return float((1 - yearly_loss(stretch.temperature_c)) ** (stretch.days / DAYS_PER_YEAR))


def _kept_working(stretch: DryStretch) -> Working:
    return Working(
        name="Storage",
        formula="(1 - yearly loss)^(days / 365)",
        terms=(
            Term(name="days", value=float(stretch.days), unit="days"),
            Term(name="temperature", value=stretch.temperature_c, unit="C"),
            Term(name="yearly loss", value=yearly_loss(stretch.temperature_c), unit=""),
        ),
        value=_kept(stretch),
        unit="",
        source=DRY_SOURCE,
    )


def _dry_notes(stretches: Sequence[DryStretch]) -> tuple[str, ...]:
    notes = ["Between 4 C and 20 C the logarithm of the yearly loss is interpolated."]
    if any(stretch.temperature_c < COLD_C for stretch in stretches):
        notes.append("Below 4 C the loss at 4 C is taken.")
    if any(stretch.temperature_c > ROOM_C for stretch in stretches):
        notes.append("Above 20 C the loss is an extrapolation.")
    return tuple(notes)
