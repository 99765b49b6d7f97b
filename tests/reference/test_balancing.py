"""Balancing against published figures.

Sources:
G. Tinseth, "Glenn's Hop Utilization Numbers" (1990s), his table of utilisation by minutes and
gravity, read in pages that quote it (Q).
JCGM 100:2008, Guide to the expression of uncertainty in measurement, F.2.2.1: an indicating device
whose smallest division is d has a standard uncertainty of 0.29 d (M: from memory, not seen).
"""

from __future__ import annotations

import pytest

from planning.engine.balance import HopLine, balance
from recipes.brewing.bitterness import ibu_per_gram
from recipes.brewing.roles import HopRole
from tests.reference.published import rows

FINISHED_L = 20.0
LONGEST_MIN = 30  # of the table
BY_MINUTES = {int(row["boil_min"]): row for row in rows("hop_utilisation_table")}


@pytest.mark.parametrize("minutes", [12, 15, 18, 21, 30])
@pytest.mark.parametrize("gravity", ["1.030", "1.040", "1.050", "1.060", "1.080", "1.100"])
def test_a_stronger_lot_boils_as_long_as_the_table_says(gravity, minutes):
    """Tinseth's table (Q): the minutes at which utilisation x alpha is what it was at 30.

    The table has three decimals, which is a minute either way.
    """
    as_written, shorter = (float(BY_MINUTES[at][gravity]) for at in (LONGEST_MIN, minutes))
    table = {at: ibu_per_gram(float(gravity), at, FINISHED_L) for at in range(5, 91)}
    pouch = HopLine(
        line="30",
        name="Pouch at 30 min",
        role=HopRole.MOVE_TIME,
        reference_mg=28_000,
        reference_alpha=0.05,
        ibu_per_gram=table[LONGEST_MIN],
        alpha=0.05 * as_written / shorter,
        minutes=LONGEST_MIN,
        minutes_table=table,
    )

    result = balance(target_ibu=pouch.reference_ibu, lines=[pouch], resolution_mg=100)

    assert result.minutes["30"] == pytest.approx(minutes, abs=1)


def test_a_scale_errs_by_029_of_its_division():
    """JCGM 100:2008, F.2.2.1 (M)."""
    sure = HopLine(
        line="60",
        name="Magnum at 60 min",
        role=HopRole.ABSORB,
        reference_mg=20_000,
        reference_alpha=0.05,
        ibu_per_gram=20.0,  # 1 IBU a gram
        alpha=0.05,
        alpha_spread=0.0,
    )

    result = balance(target_ibu=20.0, lines=[sure], resolution_mg=100, division_mg=1_000)

    assert result.spread_ibu == pytest.approx(0.29, abs=0.005)
