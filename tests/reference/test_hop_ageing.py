from __future__ import annotations

import math

import pytest

from inventory.ageing.hops import (
    STORAGE_FACTORS,
    StorageGrade,
    Stretch,
    alpha_after,
    alpha_from_harvest,
    decay_rate,
    equivalent_days,
    index_loss,
    rate_between,
    remaining_share,
    storage_grade,
    temperature_factor,
)
from tests.reference.published import rows

KEPT = [row for row in rows("hop_alpha_ranges") if row["alpha_remaining_6mo_20C_min"]]
HALF_YEAR_WARM = Stretch(days=180, temperature_c=20.0)


@pytest.mark.parametrize("row", KEPT, ids=lambda row: row["variety"])
@pytest.mark.parametrize("end", ["min", "max"])
def test_varieties_keep_what_the_hop_sheets_say(row, end):
    """L. D. Carlson hop sheet and probrewer.com, S: alpha left after six months at 20 C."""
    kept = float(row[f"alpha_remaining_6mo_20C_{end}"]) / 100
    days = equivalent_days((HALF_YEAR_WARM,))
    assert remaining_share(decay_rate(1 - kept), days) == pytest.approx(kept)


def test_rate_of_a_hop_that_loses_half():
    """M. Garetz, BrewingTechniques 2(1), 1994, S: k = -ln(1 - L) / 180 per day."""
    assert decay_rate(0.5) == pytest.approx(math.log(2) / 180)


@pytest.mark.parametrize(("celsius", "factor"), [(35, 2.0), (20, 1.0), (5, 0.5), (-10, 0.25)])
def test_ageing_doubles_every_fifteen_degrees(celsius, factor):
    """M. Garetz, BrewingTechniques 2(1), 1994, S: 2^((T - 20) / 15)."""
    assert temperature_factor(celsius) == pytest.approx(factor)


def test_storage_factors():
    """M. Garetz, M: from memory, not seen; 1.0 loose, 0.75 airtight, 0.5 barrier."""
    assert STORAGE_FACTORS == {"loose": 1.0, "airtight": 0.75, "barrier": 0.5}


@pytest.mark.parametrize(
    ("kept", "months", "percent"),
    [(0.70, 6, 6.3), (0.85, 6, 7.7), (0.70, 12, 4.4), (0.85, 12, 6.5)],
)
def test_a_nine_percent_hop_on_a_shelf(kept, months, percent):
    """C. Colby, "Hops lose alpha acids in storage", S: within his rounding."""
    stretches = (HALF_YEAR_WARM,) * (months // 6)
    alpha = alpha_after(0.09, decay_rate(1 - kept), stretches)
    assert alpha.value == pytest.approx(percent, abs=0.0500001)


def test_storage_index_of_a_tenth_lost():
    """M. Garetz quoting Nickerson, S: HSI 0.310 is about 10 % (10.28 by the formula)."""
    assert index_loss(0.310) == pytest.approx(0.1028, abs=0.00005)


def test_slope_of_the_storage_index_is_inside_the_crop_years():
    """Nickerson and Likens, J. ASBC 37:184, 1979, abstract, S: slopes of 101.8 to 114.6."""
    slope = 100 * index_loss(0.5) / math.log10(0.5 / 0.25)
    assert 101.8 <= slope <= 114.6


def test_alpha_of_a_harvest_value_by_its_storage_index():
    """M. Garetz quoting Nickerson, C: what is left of 9.0 % at an HSI of 0.310 by the formula."""
    assert alpha_from_harvest(0.09, 0.310).value == pytest.approx(9.0 * (1 - 0.1028), abs=0.0005)


def test_rate_of_a_lot_by_two_indices_lies_between_those_of_the_crop_years():
    """Nickerson and Likens, J. ASBC 37:184, 1979, abstract, S: slopes of 101.8 to 114.6.

    C: the rate from .30 to .40 in half a year with the slope of either crop year.
    """

    def rate(slope):
        first, second = (slope / 100 * math.log10(index / 0.25) for index in (0.30, 0.40))
        return math.log((1 - first) / (1 - second)) / 180

    ours = rate_between(0.30, 0.40, (HALF_YEAR_WARM,)).value
    assert rate(101.8) < ours < rate(114.6)


@pytest.mark.parametrize(
    ("index", "grade"),
    [
        (0.25, StorageGrade.FRESH),
        (0.31, StorageGrade.FRESH),
        (0.41, StorageGrade.AGED),
        (0.50, StorageGrade.AGED),
        (0.62, StorageGrade.OVER_AGED),
    ],
)
def test_grades_of_the_storage_index(index, grade):
    """McMillan et al., BrewingScience 2023, S: fresh < .32, aged .41-.50, over-aged > .61."""
    assert storage_grade(index) is grade


@pytest.mark.parametrize(
    ("index", "grade"),
    [(0.35, StorageGrade.SLIGHTLY_AGED), (0.55, StorageGrade.STRONGLY_AGED)],
)
def test_grades_between_the_published_ones(index, grade):
    """M: from memory, not seen; the names of the two grades between."""
    assert storage_grade(index) is grade
