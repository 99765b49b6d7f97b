from __future__ import annotations

import pytest

from recipes.brewing.priming import (
    CARBON_DIOXIDE_G_PER_L,
    PrimingRule,
    priming_sugar,
    residual_co2,
    sugar_per_volume,
)
from recipes.brewing.roles import Family


@pytest.mark.parametrize(
    ("celsius", "volumes"), [(0, 1.7), (4, 1.5), (8, 1.3), (12, 1.12), (16, 0.99), (20, 0.88)]
)
def test_residual_carbon_dioxide(celsius, volumes):
    """Hibberd's table, in Draper, S."""
    assert residual_co2(celsius).value == pytest.approx(volumes)


@pytest.mark.parametrize(
    ("sugar", "grams"),
    [(Family.GLUCOSE, 4.02), (Family.GLUCOSE_MONOHYDRATE, 4.42), (Family.SUCROSE, 3.82)],
)
def test_sugar_for_a_volume_by_stoichiometry(sugar, grams):
    """C, from molar masses: g/L for each volume."""
    per_volume = sugar_per_volume(sugar, PrimingRule.STOICHIOMETRY)
    assert round(per_volume.value, 2) == grams


def test_weight_of_a_volume():
    """C: 44.01 g of carbon dioxide in 22.414 L, 1.96 g/L at 0 C."""
    assert pytest.approx(1.96, abs=0.005) == CARBON_DIOXIDE_G_PER_L


def test_sugar_for_a_volume_as_brewing_texts_have_it():
    """Draper, S: 3.7 g/L of glucose for each volume."""
    assert sugar_per_volume(Family.GLUCOSE, PrimingRule.BREWING_TEXT).value == 3.7


def test_bottles_are_rated_for_four_volumes():
    """Q: typically. To warn above 3.0 and refuse above 4.0 without heavy bottles is our choice."""
    beer = {
        "volume_l": 20.0,
        "highest_temperature_c": 20.0,
        "sugar": Family.GLUCOSE,
        "rule": PrimingRule.BREWING_TEXT,
    }
    assert priming_sugar(volumes=4.0, **beer).value == pytest.approx((4.0 - 0.88) * 3.7 * 20)
    with pytest.raises(ValueError, match="burst bottles"):
        priming_sugar(volumes=4.0001, **beer)
