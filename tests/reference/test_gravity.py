from __future__ import annotations

import pytest

from recipes.brewing.gravity import (
    litre_degrees_per_kg,
    plato_from_sg,
    points_from_sg,
    ppg_from_extract,
    sg_from_plato,
)
from tests.reference.published import rows


@pytest.mark.parametrize("row", rows("plato_points"), ids=lambda row: row["plato"])
def test_plato_table(row):
    """De Clerck, as given by S. Thomas, Q: whole points, of which a few were cut, not rounded.

    19, 25 and 28 Plato are printed as 78, 105 and 119 and are 78.5, 105.7 and 119.7.
    """
    points = points_from_sg(sg_from_plato(float(row["plato"])))
    assert abs(points - int(row["sg_points"])) < 1
    if row["plato"] not in {"19", "25", "28"}:
        assert round(points) == int(row["sg_points"])


@pytest.mark.parametrize(
    "row", rows("sucrose_specific_gravity"), ids=lambda row: row["degrees_brix"]
)
def test_sucrose_table(row):
    """USDA file code 135-A-50, apparent SG 20/20, Q: the cubic is within 0.003 degrees of it.

    Water is the farthest: the cubic gives it -0.003 degrees.
    """
    plato = plato_from_sg(float(row["apparent_sg_20_20"]))
    assert plato == pytest.approx(float(row["degrees_brix"]), abs=0.003 + 1e-9)


def test_points_per_pound_per_gallon_in_metric():
    """S: points per lb per US gal times 8.3454 are litre-degrees per kg."""
    assert litre_degrees_per_kg(1) == pytest.approx(8.3454, abs=0.00005)


def test_laboratory_extract_as_points():
    """Q: 79 % extract, dry basis, and 4 % moisture give 35.05 points per lb per US gal."""
    assert ppg_from_extract(0.79, 0.04) == pytest.approx(35.05, abs=0.005)
