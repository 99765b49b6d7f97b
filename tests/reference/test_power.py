from __future__ import annotations

import pytest

from recipes.brewing.extract import Fermentable
from recipes.brewing.power import (
    Strength,
    base_malt_needed_kg,
    grist_power,
    lintner_from_wk,
    strength,
)
from recipes.brewing.roles import FermentableKind, Use
from tests.reference.published import KG_PER_LB


def grain(pounds: float, lintner: float) -> Fermentable:
    return Fermentable(
        name=f"Malt of {lintner:g} Lintner",
        kind=FermentableKind.GRAIN,
        kg=pounds * KG_PER_LB,
        use=Use.MASH,
        points_l_per_kg=300.0,
        power_lintner=lintner,
    )


def test_windisch_kolbach():
    """The Oxford Companion to Beer, S: 100 Lintner are 334 Windisch-Kolbach."""
    assert lintner_from_wk(334) == 100


def test_power_of_a_mixed_grist():
    """S: 6 lb at 110 Lintner and 1 lb at 0 make a grist of 94."""
    assert round(grist_power((grain(6, 110), grain(1, 0))).value) == 94


def test_the_least_base_malt_that_converts():
    """S: 20 lb of grist at 30 Lintner need 4.29 lb of a malt of 140."""
    power = grist_power((grain(4.29, 140), grain(20 - 4.29, 0))).value
    assert power == pytest.approx(30, abs=0.05)


@pytest.mark.parametrize(
    ("malt", "lintner", "alone"),
    [
        ("two-row", 140, Strength.COMFORTABLE),
        ("six-row", 160, Strength.COMFORTABLE),
        ("pale ale", 85, Strength.COMFORTABLE),
        ("Munich", 40, Strength.SOUND),
        ("Vienna", 50, Strength.SOUND),
        ("wheat malt, least", 160, Strength.COMFORTABLE),
        ("wheat malt, most", 180, Strength.COMFORTABLE),
        ("flaked grain, crystal and roast", 0, Strength.TOO_WEAK),
    ],
)
def test_what_typical_malts_convert_alone(malt, lintner, alone):
    """Typical powers, S; that each malt but the last converts itself is common practice."""
    assert strength(grist_power((grain(10, lintner),)).value) is alone


def test_six_row_converts_a_fifth_of_flaked_corn():
    """Common practice, no source; six-row malt of 160 Lintner is typical, S."""
    assert strength(grist_power((grain(8, 160), grain(2, 0))).value) is Strength.COMFORTABLE


def test_the_malt_that_a_weak_grist_is_short_of():
    """S: of 20 lb of grist at 30 Lintner 4.29 lb are of a malt of 140."""
    needed_kg = base_malt_needed_kg((grain(20 - 4.29, 0),), 140, 30)
    assert needed_kg / KG_PER_LB == pytest.approx(4.29, abs=0.01)
