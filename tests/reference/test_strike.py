from __future__ import annotations

import pytest

from recipes.brewing.strike import absorbed_water, strike_temperature
from tests.reference.published import KG_PER_LB, L_PER_US_GAL


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


def fahrenheit(celsius: float) -> float:
    return celsius * 1.8 + 32


def test_strike_water():
    """J. Palmer, How to Brew, 1st ed., ch. 16.3, S: 1.25 qt/lb, 70 F to 152 F -> 165.12 F."""
    struck = strike_temperature(
        mash_l_per_kg=1.25 * L_PER_US_GAL / 4 / KG_PER_LB, grain_c=celsius(70), mash_c=celsius(152)
    )
    assert fahrenheit(struck.value) == pytest.approx(165.12)
    assert {term.name: term.value for term in struck.terms}["r"] == pytest.approx(1.25)


def test_water_that_the_grain_keeps():
    """S: about 0.125 US gal per lb."""
    assert absorbed_water(grain_kg=8 * KG_PER_LB).value == pytest.approx(L_PER_US_GAL)
