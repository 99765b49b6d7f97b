from __future__ import annotations

import pytest

from recipes.brewing.alcohol import alcohol_by_volume, alcohol_by_weight, alcohol_factor
from recipes.brewing.gravity import plato_from_sg
from tests.reference.published import rows

FACTORS = rows("alcohol_factors")


@pytest.mark.parametrize("row", FACTORS, ids=lambda row: row["original_plato"])
def test_ballings_factors(row):
    """F. Eckhardt, from Balling's tables, S: all of them within .0001 (q itself is from memory)."""
    factor = alcohol_factor(float(row["original_plato"]))
    assert factor == pytest.approx(float(row["factor"]), abs=0.0001)


def test_alcohol_by_weight_is_the_factor_times_what_has_gone():
    """F. Eckhardt, S: ABW = f * (original - apparent extract)."""
    assert alcohol_by_weight(12.5, 3.0) == pytest.approx(0.4197 * 9.5, abs=0.001)


def test_the_short_form_misses_the_table():
    """RE = 0.1808 OE + 0.8192 AE, S: it misses the factors by .002 to .011, so it is not used."""
    for row in FACTORS:
        short = 0.8192 / (2.0665 - 0.010665 * float(row["original_plato"]))
        assert 0.0015 <= abs(short - float(row["factor"])) <= 0.0115


def test_alcohol_by_volume_divides_by_the_density_of_alcohol():
    """S: ABV = ABW * final gravity / 0.791."""
    by_weight = alcohol_by_weight(plato_from_sg(1.048), plato_from_sg(1.010))
    assert alcohol_by_volume(1.048, 1.010).value == pytest.approx(by_weight * 1.010 / 0.791)
