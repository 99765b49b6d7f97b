"""The spread of a kit's bitterness: propagated, and drawn two hundred thousand times.

Both know the alpha acid of each lot and the scale, and neither knows the error of the utilisation
formula: a brewer's beer spreads wider than this.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np
import pytest

from planning.engine.balance import Balance, HopLine, balance
from recipes.brewing.roles import HopRole
from tests.planning.engine.hop_kits import pouch
from tests.planning.engine.make import GOLD, PERLE

DRAWS = 200_000
LATE = replace(GOLD, line="30", role=HopRole.HOLD_BITTERNESS, reference_mg=9_000, ibu_per_gram=18.0)
KITS = {
    "each from its own lot": (GOLD, PERLE, LATE),
    "two from one lot": (replace(GOLD, lot="M-1"), PERLE, replace(LATE, lot="M-1")),
    "all from one lot": tuple(replace(line, lot="M-1") for line in (GOLD, PERLE, LATE)),
    "cones of uneven alpha": (
        replace(GOLD, lot="M-1", alpha=0.061, alpha_spread=0.08, form_factor=0.9),
        replace(PERLE, lot="P-1", alpha_spread=0.01),
    ),
    "a pouch that moves in time": (
        pouch(45, 30, 75, lot="M-1", alpha=0.053),
        replace(PERLE, lot="M-1"),
    ),
}


def balanced(lines: tuple[HopLine, ...], division_mg: int) -> Balance:
    return balance(
        target_ibu=sum(line.reference_ibu for line in lines),
        lines=lines,
        resolution_mg=100,
        division_mg=division_mg,
    )


def drawn_spread(lines: tuple[HopLine, ...], result: Balance, division_mg: int) -> float:
    """Brew the kit again and again: each lot errs once a brew, the scale once a weighing."""
    dice = np.random.default_rng(20_250_602)
    lots = {line.lot or line.line: dice.standard_normal(DRAWS) for line in lines}
    ibu = np.zeros(DRAWS)
    for line, row in zip(lines, result.rows, strict=True):
        alpha = line.alpha * (1 + line.alpha_spread * lots[line.lot or line.line])
        weighed_mg = row.after_mg + division_mg * (dice.random(DRAWS) - 0.5)
        ibu += weighed_mg / 1000 * alpha * line.form_factor * row.ibu_per_gram
    return float(ibu.std())


@pytest.mark.parametrize("division_mg", [0, 100, 2_000])
@pytest.mark.parametrize("kit", KITS)
def test_the_propagated_spread_is_that_of_many_brews(kit, division_mg):
    lines = KITS[kit]
    result = balanced(lines, division_mg)

    assert result.spread_ibu == pytest.approx(drawn_spread(lines, result, division_mg), rel=0.02)


def test_the_working_says_that_the_error_of_the_formula_is_left_out():
    notes = balanced((GOLD, PERLE), 100).working.notes

    assert "The spread is that of the alpha acid and of the scale, not of the formula." in notes


def test_spread_adds_alpha_and_scale_in_quadrature():
    result = balanced((GOLD, PERLE), 500)

    scale_g = 0.5 / sqrt(12)
    parts = (24.0 * 0.03, 7.2 * 0.03, scale_g * 0.05 * 24, scale_g * 0.04 * 12)
    assert result.spread_ibu == pytest.approx(sqrt(sum(part**2 for part in parts)))


def test_two_additions_from_one_lot_err_together():
    twice = [replace(GOLD, line=line, reference_mg=10_000) for line in ("60", "30")]

    apart = balanced(tuple(twice), 0)
    together = balanced(tuple(replace(line, lot="FG-1") for line in twice), 0)

    assert together.spread_ibu == pytest.approx(24.0 * 0.03)
    assert apart.spread_ibu == pytest.approx(24.0 * 0.03 / sqrt(2))
