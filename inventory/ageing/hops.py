"""Alpha acid over time, and the storage index.

alpha(t) = alpha0 * exp(-k * TF * SF * days), with k from the share lost in six months at 20 C,
TF = 2^((T - 20) / 15), and SF by how air is kept out.

>>> decay_rate(0.50)
0.00385
>>> temperature_factor(5.0)
0.5

What is measured on a lot, and what each figure may be used for, so that no loss counts twice:

* An *alpha acid measured on the lot* holds all the loss up to its sample. Ageing starts there.
* A *storage index* is a grade. Beside such an alpha acid, on whatever day, it takes nothing off.
* *Two indices* and the storage between them give the lot's own rate of loss, in place of its
  variety's (:func:`rate_between`). Two alpha acids give none (our choice: they are of two samples
  and often of two methods). Indices that fell, or with no time between, give none either.
* An *alpha acid known from the harvest* holds no loss. If an index was read on the harvest's day or
  later, alpha acid on the day of that index follows from the two (:func:`alpha_from_harvest`), and
  ageing goes on from there: the days before are in the index. Without one it ages from its harvest.

Sources: M. Garetz, BrewingTechniques 2(1), 1994 (rate and temperature); his storage factors are
from memory. Storage index: 110 log10(HSI / 0.25), Garetz quoting Nickerson. Grades: McMillan et
al., BrewingScience 2023; the two grades between those read there are from memory.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from boxwort.working import Numbers, Term, Working, not_negative, positive, share

SOURCE = "M. Garetz, BrewingTechniques 2(1), 1994"
INDEX_SOURCE = "M. Garetz, quoting Nickerson: percent lost = 110 log10(HSI / 0.25)"
STORAGE_FACTORS = {"loose": 1.0, "airtight": 0.75, "barrier": 0.5}
STORAGE_FACTOR_NOTE = (
    "Storage factors (1.0 loose, 0.75 airtight, 0.5 oxygen barrier with vacuum or inert gas) are "
    "from memory, not read in the source."
)
ALPHA_AND_BETA_NOTE = "The index counts alpha and beta acid together."
HALF_YEAR_DAYS = 180
FRESH_HARVEST_INDEX = 0.25
COLDEST_C, HOTTEST_C = -60.0, 60.0


class StorageGrade(StrEnum):
    """How old a hop is by its storage index."""

    FRESH = "fresh"
    SLIGHTLY_AGED = "slightly_aged"
    AGED = "aged"
    STRONGLY_AGED = "strongly_aged"
    OVER_AGED = "over_aged"

    @property
    def words(self) -> str:
        """The grade as people say it."""
        return self.value.replace("_", " ")


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


def equivalent_days(stretches: Sequence[Stretch]) -> float:
    """Return the days loose at 20 C that age a hop as much as the stretches, in any order."""
    return math.fsum(stretch.equivalent_days for stretch in stretches)


def decay_rate(lost_in_six_months: Numbers) -> Numbers:
    """Return k per day from the share of alpha acid lost in 180 days loose at 20 C (0 to below 1).

    Takes an array as well.

    Raises
    ------
    ValueError: all of it is lost, which no rate describes.
    """
    if np.any(share("loss in six months", lost_in_six_months) == 1):
        msg = "a hop that loses all its alpha acid in six months has no rate; give less than 1"
        raise ValueError(msg)
    if isinstance(lost_in_six_months, np.ndarray):
        return -np.log1p(-lost_in_six_months) / HALF_YEAR_DAYS
    return -math.log1p(-lost_in_six_months) / HALF_YEAR_DAYS


def temperature_factor(temperature_c: Numbers) -> Numbers:
    """Return how much faster a hop ages than at 20 C: twice for every 15 degrees.

    Takes an array as well.
    """
    unfit = _no_store(temperature_c)
    if unfit is not None:
        msg = f"{unfit:g} degrees C is no store for hops; give {COLDEST_C:g} to {HOTTEST_C:g}"
        raise ValueError(msg)
    factor: Numbers = 2.0 ** ((temperature_c - 20) / 15)
    return factor


def remaining_share(rate: Numbers, days: Numbers) -> Numbers:
    """Return the share, 0-1, of alpha acid left; takes arrays as well.

    Parameters
    ----------
    rate: k per day loose at 20 C, see :func:`decay_rate`.
    days: days that age a hop as much as days loose at 20 C, see :func:`equivalent_days`.

    >>> import numpy as np
    >>> remaining_share(decay_rate(0.30), np.array([0.0, 90.0, 180.0]))
    array([1.  , 0.84, 0.7 ])
    """
    gone = not_negative("rate of loss", rate) * not_negative("days in storage", days)
    if isinstance(gone, np.ndarray):
        return np.exp(-gone)
    return math.exp(-gone)


def alpha_after(alpha: float, rate: float, stretches: Sequence[Stretch]) -> Working:
    """Return alpha acid, in percent, after the stretches, with one part for each of them.

    Parameters
    ----------
    alpha: alpha acid when the analysis was sampled, share 0-1.
    rate: k per day at 20 C loose, see :func:`decay_rate`.
    """
    days = equivalent_days(stretches)
    return Working(
        name="Alpha acid",
        formula="alpha at sampling * exp(-rate * storage)",
        terms=(
            Term(name="alpha at sampling", value=share("alpha acid", alpha) * 100, unit="%"),
            Term(name="rate", value=rate, unit="per day"),
            Term(name="storage", value=days, unit="days loose at 20 °C"),
        ),
        value=alpha * remaining_share(rate, days) * 100,
        unit="%",
        source=SOURCE,
        notes=(STORAGE_FACTOR_NOTE,),
        parts=tuple(_stretch_working(stretch) for stretch in stretches),
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


def lost_since_harvest(storage_index: float) -> Working:
    """Return the percent of alpha and beta acid lost since harvest, with the grade as a note."""
    return Working(
        name="Lost since harvest",
        formula="110 * log10(storage index / 0.25), from 0 to 100",
        terms=(Term(name="storage index", value=storage_index, unit=""),),
        value=index_loss(storage_index) * 100,
        unit="%",
        source=INDEX_SOURCE,
        notes=(f"Grade by the index: {storage_grade(storage_index).words}.", ALPHA_AND_BETA_NOTE),
    )


def rate_between(first_index: float, second_index: float, stretches: Sequence[Stretch]) -> Working:
    """Return the rate per day, loose at 20 C, from two storage indices and the time between them.

    Raises
    ------
    ValueError: no time passed, the index fell, or a hop has nothing left to lose.
    """
    days = positive("time between readings", equivalent_days(stretches))
    if second_index < first_index:
        msg = (
            f"the storage index fell from {first_index:g} to {second_index:g}, and hops do not "
            "grow younger; have the sample read again"
        )
        raise ValueError(msg)
    first, second = lost_since_harvest(first_index), lost_since_harvest(second_index)
    if second.value == 100:
        msg = f"a storage index of {second_index:g} leaves no acid to take a rate from"
        raise ValueError(msg)
    return Working(
        name="Rate of loss of this lot",
        formula="ln((100 - lost by first index) / (100 - lost by second index)) / storage",
        terms=(
            Term(name="lost by first index", value=first.value, unit="%"),
            Term(name="lost by second index", value=second.value, unit="%"),
            Term(name="storage", value=days, unit="days loose at 20 °C"),
        ),
        value=math.log((100 - first.value) / (100 - second.value)) / days,
        unit="per day",
        source=INDEX_SOURCE,
        notes=(ALPHA_AND_BETA_NOTE,),
        parts=(first, second, *(_stretch_working(stretch) for stretch in stretches)),
    )


def alpha_from_harvest(harvest_alpha: float, storage_index: float) -> Working:
    """Return alpha acid, in percent, on the day of a storage index, from its value at harvest.

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
            ALPHA_AND_BETA_NOTE,
        ),
    )


def _no_store(temperature_c: float | NDArray[np.float64]) -> float | None:
    """Return the temperature, or the worst of several, in which hops are not stored, or None."""
    if not isinstance(temperature_c, np.ndarray):
        return None if COLDEST_C <= temperature_c <= HOTTEST_C else temperature_c
    unfit = temperature_c[~((temperature_c >= COLDEST_C) & (temperature_c <= HOTTEST_C))]
    return float(unfit.flat[0]) if unfit.size else None


def _stretch_working(stretch: Stretch) -> Working:
    return Working(
        name="Storage",
        formula="days * 2^((temperature - 20) / 15) * storage factor",
        terms=(
            Term(name="days", value=stretch.days, unit="days"),
            Term(name="temperature", value=stretch.temperature_c, unit="°C"),
            Term(name="storage factor", value=stretch.storage_factor, unit=""),
        ),
        value=stretch.equivalent_days,
        unit="days",
        source=SOURCE,
    )
