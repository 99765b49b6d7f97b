from __future__ import annotations

import pytest

from recipes.brewing.colour import ebc_from_srm, lovibond_from_wort_srm, srm_from_mcu


@pytest.mark.parametrize(("mcu", "srm"), [(10, 7.24), (20, 11.65), (40, 18.74)])
def test_moreys_colours(mcu, srm):
    """D. Morey, BrewingTechniques, C: SRM = 1.4922 MCU^0.6859."""
    assert srm_from_mcu(mcu) == pytest.approx(srm, abs=0.005)


def test_european_colour():
    """R. Daniels, S: EBC = 1.97 SRM, close to the ratio of the definitions, 25 and 12.7 A430."""
    assert ebc_from_srm(12.7) == pytest.approx(25, abs=0.02)


def test_lovibond_of_a_laboratory_wort():
    """Q: SRM = 1.3546 L - 0.76."""
    assert 1.3546 * lovibond_from_wort_srm(3.0) - 0.76 == pytest.approx(3.0)
