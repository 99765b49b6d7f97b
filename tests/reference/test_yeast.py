from __future__ import annotations

import pytest

from inventory.ageing.yeast import (
    DryStretch,
    ViabilityRule,
    active_share,
    viable_share,
    warmth_factor,
)
from planning.engine.pitching import starter
from recipes.brewing.pitch import (
    cells_needed,
    dry_grams_needed,
    liquid_packs,
)
from tests.reference.published import L_PER_US_GAL


@pytest.mark.parametrize(("rate", "needed"), [(0.75, 180e9), (1.5, 360e9)])
def test_cells_for_twenty_litres(rate, needed):
    """G. Fix, Q: 20 L of ale at 12 Plato need 180 billion; lager, at twice the rate, C."""
    cells = cells_needed(pitch_rate_million=rate, volume_l=20, plato=12)
    assert cells == pytest.approx(needed)


def test_cells_for_a_strong_ale():
    """S: 5.5 US gal at 15 Plato need 234 billion."""
    cells = cells_needed(pitch_rate_million=0.75, volume_l=5.5 * L_PER_US_GAL, plato=15)
    assert cells == pytest.approx(234e9, abs=0.5e9)


@pytest.mark.parametrize(("viability", "packs"), [(1.0, 2), (0.85, 3), (0.75, 3)])
def test_packs_for_twenty_litres_of_ale(viability, packs):
    """A maker's page, S: a pack holds about 100 billion, 75-85 % of them living after 30 days."""
    assert liquid_packs(cells=180e9, cells_per_pack=100e9, viability=viability) == packs


@pytest.mark.parametrize("rule", ViabilityRule)
def test_liquid_yeast_after_thirty_days(rule):
    """A maker's page, S: 75-85 % viable after 30 days."""
    assert 0.75 <= viable_share(rule, 30) <= 0.85


def test_linear_loss_is_of_the_original():
    """Q: 0.7 % of the original per day."""
    lost = [viable_share(ViabilityRule.LINEAR, day) for day in (0, 1, 100)]
    assert lost == pytest.approx([1.0, 0.993, 0.30])


def test_exponential_loss():
    """C: (1 - 0.21)^(days / 30)."""
    assert viable_share(ViabilityRule.EXPONENTIAL, 60) == pytest.approx(0.79**2)


@pytest.mark.parametrize(("celsius", "least", "most"), [(4, 0.04, 0.05), (20, 0.199, 0.201)])
def test_dry_yeast_after_a_sealed_year(celsius, least, most):
    """A maker's specification, Q: about 20 % a year at 20 C, 4-5 % a year at 4 C."""
    lost = 1 - active_share((DryStretch(days=365, temperature_c=celsius),))
    assert least <= lost <= most


@pytest.mark.parametrize(("litres", "cells"), [(1, 152e9), (2, 205e9), (4, 276e9)])
def test_a_still_starter_grows_what_was_measured(litres, cells):
    """C. White and J. Zainasheff, Yeast (2010), fig. 5.5, Q: 100 billion cells in wort of 9 P.

    The more wort for the cells, the less each litre grows: 4 L is a fifth less than reckoned.
    """
    grown = cells - 100e9
    assert starter(cells_missing=grown).value == pytest.approx(litres, rel=0.13)


def test_twice_as_fast_for_ten_degrees():
    """Common practice: van 't Hoff's rule of thumb, which is here applied by our own choice."""
    assert warmth_factor(24.0) / warmth_factor(14.0) == 2.0


@pytest.mark.parametrize(("dose", "grams"), [(50, 10), (80, 16), (120, 24)])
def test_dry_doses_for_twenty_litres(dose, grams):
    """A maker's brochure, read as an excerpt, Q: 50-80 g/hL for ale, 80-120 g/hL for lager."""
    assert dry_grams_needed(dose_g_per_hl=dose, volume_l=20) == pytest.approx(grams)
