"""Alpha acid over time, and the storage index.

alpha(t) = alpha0 * exp(-k * TF * SF * days), with k from the share lost in six months at 20 C,
TF = 2^((T - 20) / 15), and SF by how air is kept out.

>>> decay_rate(0.50)
0.00385
>>> temperature_factor(5.0)
0.5

Sources: M. Garetz, BrewingTechniques 2(1), 1994 (rate and temperature); his storage factors are
from memory. Storage index: 110 log10(HSI / 0.25), Garetz quoting Nickerson. Grades: McMillan et
al., BrewingScience 2023; the two grades between those read there are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from boxwort.working import Term, Working, not_negative, positive, share

SOURCE = "M. Garetz, BrewingTechniques 2(1), 1994"
INDEX_SOURCE = "M. Garetz, quoting Nickerson: percent lost = 110 log10(HSI / 0.25)"
STORAGE_FACTORS = {"loose": 1.0, "airtight": 0.75, "barrier": 0.5}
STORAGE_FACTOR_NOTE = (
    "Storage factors (1.0 loose, 0.75 airtight, 0.5 oxygen barrier with vacuum or inert gas) are "
    "from memory, not read in the source."
)
HALF_YEAR_DAYS = 180
FRESH_HARVEST_INDEX = 0.25


class StorageGrade(StrEnum):
    """How old a hop is by its storage index."""

    FRESH = "fresh"
    SLIGHTLY_AGED = "slightly_aged"
    AGED = "aged"
    STRONGLY_AGED = "strongly_aged"
    OVER_AGED = "over_aged"


# upper limits, each grade below its limit; .40 and .60 and below as read to two decimals
_GRADE_LIMITS = (
    (0.32, StorageGrade.FRESH),
    (0.405, StorageGrade.SLIGHTLY_AGED),
    (0.505, StorageGrade.AGED),
    (0.61, StorageGrade.STRONGLY_AGED),
)


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """Days in one place and one packing: temperature in degrees C, storage factor above zero."""

    days: float
    temperature_c: float
    storage_factor: float = STORAGE_FACTORS["loose"]

    def __post_init__(self) -> None:
        not_negative("days in storage", self.days)
        positive("storage factor", self.storage_factor)
        temperature_factor(self.temperature_c)

    @property
    def equivalent_days(self) -> float:
        """Days loose at 20 C that age a hop as much."""
        return self.days * temperature_factor(self.temperature_c) * self.storage_factor


def decay_rate(lost_in_six_months: float) -> float:
    """Return k per day from the share of alpha acid lost in 180 days loose at 20 C (0 to below 1).

    Raises
    ------
    ValueError: all of it is lost, which no rate describes.
    """
    if share("loss in six months", lost_in_six_months) == 1:
        msg = "a hop that loses all its alpha acid in six months has no rate; give less than 1"
        raise ValueError(msg)
    return -math.log1p(-lost_in_six_months) / HALF_YEAR_DAYS


def temperature_factor(temperature_c: float) -> float:
    """Return how much faster a hop ages than at 20 C: twice for every 15 degrees."""
    if not -60 <= temperature_c <= 60:
        msg = f"{temperature_c:g} degrees C is no store for hops; give -60 to 60"
        raise ValueError(msg)
    return float(2 ** ((temperature_c - 20) / 15))


def remaining_share(rate: float, stretches: Sequence[Stretch]) -> float:
    """Return the share, 0-1, of alpha acid left after the stretches, in any order."""
    not_negative("rate of loss", rate)
    return math.exp(-rate * math.fsum(stretch.equivalent_days for stretch in stretches))


def alpha_after(alpha: float, rate: float, stretches: Sequence[Stretch]) -> Working:
    """Return alpha acid, in percent, after the stretches.

    Parameters
    ----------
    alpha: alpha acid when the analysis was sampled, share 0-1.
    rate: k per day at 20 C loose, see :func:`decay_rate`.
    """
    share("alpha acid", alpha)
    parts = tuple(_stretch_working(stretch) for stretch in stretches)
    return Working(
        name="Alpha acid",
        formula="alpha at sampling * exp(-rate * sum of parts)",
        terms=(
            Term(name="alpha at sampling", value=alpha * 100, unit="%"),
            Term(name="rate", value=rate, unit="per day"),
            Term(name="sum of parts", value=math.fsum(part.value for part in parts), unit="days"),
        ),
        value=alpha * remaining_share(rate, stretches) * 100,
        unit="%",
        source=SOURCE,
        notes=(STORAGE_FACTOR_NOTE,),
        parts=parts,
    )


def index_loss(storage_index: float) -> float:
    """Return the share, 0-1, of alpha and beta acid lost since harvest, by the storage index."""
    positive("storage index", storage_index)
    lost = 1.10 * math.log10(storage_index / FRESH_HARVEST_INDEX)
    return min(1.0, max(0.0, lost))


def storage_grade(storage_index: float) -> StorageGrade:
    """Return the word for a storage index."""
    positive("storage index", storage_index)
    for limit, grade in _GRADE_LIMITS:
        if storage_index < limit:
            return grade
    return StorageGrade.OVER_AGED


def rate_between(first_index: float, second_index: float, stretches: Sequence[Stretch]) -> float:
    """Return the rate per day, loose at 20 C, from two storage indices and the time between them.

    Raises
    ------
    ValueError: no time passed, the index fell, or a hop has nothing left to lose.
    """
    days = positive("time between readings", math.fsum(s.equivalent_days for s in stretches))
    if second_index < first_index:
        msg = (
            f"the storage index fell from {first_index:g} to {second_index:g}, and hops do not "
            "grow younger; have the sample read again"
        )
        raise ValueError(msg)
    left_first, left_second = 1 - index_loss(first_index), 1 - index_loss(second_index)
    if left_second == 0:
        msg = f"a storage index of {second_index:g} leaves no acid to take a rate from"
        raise ValueError(msg)
    return math.log(left_first / left_second) / days


def alpha_from_harvest(harvest_alpha: float, storage_index: float) -> Working:
    """Return alpha acid, in percent, now, from its value at harvest and a storage index.

    Only for a harvest value: alpha measured on the sample of the index already holds the loss.
    """
    lost = index_loss(storage_index)
    return Working(
        name="Alpha acid by storage index",
        formula="alpha at harvest * (1 - lost since harvest)",
        terms=(
            Term(name="alpha at harvest", value=share("alpha acid", harvest_alpha) * 100, unit="%"),
            Term(name="storage index", value=storage_index, unit=""),
            Term(name="lost since harvest", value=lost, unit=""),
        ),
        value=harvest_alpha * (1 - lost) * 100,
        unit="%",
        source=INDEX_SOURCE,
        notes=(
            "The alpha acid put in must be the harvest value; one measured with this index already "
            "holds the loss.",
            "The index counts alpha and beta acid together.",
        ),
    )


def _stretch_working(stretch: Stretch) -> Working:
    return Working(
        name="Storage",
        formula="days * 2^((temperature - 20) / 15) * storage factor",
        terms=(
            Term(name="days", value=stretch.days, unit="days"),
            Term(name="temperature", value=stretch.temperature_c, unit="C"),
            Term(name="storage factor", value=stretch.storage_factor, unit=""),
        ),
        value=stretch.equivalent_days,
        unit="days",
        source=SOURCE,
    )
