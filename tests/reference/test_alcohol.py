from __future__ import annotations

import pytest

from recipes.brewing.alcohol import (
    alcohol_by_volume,
    alcohol_by_weight,
    real_extract,
)
from recipes.brewing.gravity import plato_from_sg
from tests.reference.published import rows

FACTORS = rows("alcohol_factors")


@pytest.mark.parametrize("row", FACTORS, ids=lambda row: row["original_plato"])
def test_ballings_factors(row):
    """F. Eckhardt, from Balling's tables, S: all of them within .0001 (q itself is from memory)."""
    original = float(row["original_plato"])
    factor = alcohol_by_weight(original, original - 1)
    assert factor == pytest.approx(float(row["factor"]), abs=0.0001)


def test_alcohol_by_weight_is_the_factor_times_what_has_gone():
    """F. Eckhardt, S: ABW = f * (original - apparent extract)."""
    assert alcohol_by_weight(12.5, 3.0) == pytest.approx(0.4197 * 9.5, abs=0.001)


def test_the_short_form_misses_the_table():
    """RE = 0.1808 OE + 0.8192 AE, S: it misses the factors by .002 to .011, so it is not used."""
    misses = []
    for row in FACTORS:
        original = float(row["original_plato"])
        fermented = original - (0.1808 * original + 0.8192 * (original - 1))
        factor = fermented / (2.0665 - 0.010665 * original)
        misses.append(abs(factor - float(row["factor"])))
    assert (round(min(misses), 3), round(max(misses), 3)) == (0.002, 0.011)


def test_a_gram_of_alcohol_takes_two_grams_of_extract():
    """S: 2.0665 g of extract become 1 g of alcohol, 0.9565 g of carbon dioxide, 0.11 g of yeast."""
    thin = 1e-6
    fermented = thin - real_extract(thin, 0.0)
    assert fermented / alcohol_by_weight(thin, 0.0) == pytest.approx(1 + 0.9565 + 0.11)


def test_alcohol_by_volume_divides_by_the_density_of_alcohol():
    """S: ABV = ABW * final gravity / 0.791."""
    by_weight = alcohol_by_weight(plato_from_sg(1.048), plato_from_sg(1.010))
    assert alcohol_by_volume(1.048, 1.010).value == pytest.approx(by_weight * 1.010 / 0.791)
