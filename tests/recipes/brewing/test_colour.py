from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.colour import (
    colour,
    ebc_from_srm,
    lovibond_from_wort_srm,
    srm_from_ebc,
    srm_from_mcu,
)
from recipes.brewing.roles import Use
from tests.recipes.brewing.brews import BASE_MALT, CORN_SUGAR, CRYSTAL, but


@given(st.floats(0, 1000))
def test_srm_goes_to_ebc_and_back(srm):
    assert srm_from_ebc(ebc_from_srm(srm)) == pytest.approx(srm)


@given(st.floats(0, 800))
def test_wort_colour_goes_to_lovibond_and_back(srm):
    assert 1.3546 * lovibond_from_wort_srm(srm) - 0.76 == pytest.approx(srm, abs=1e-9)


@given(st.floats(0, 2), st.floats(0, 2))
def test_more_dark_malt_never_makes_a_paler_beer(one, other):
    pale, dark = (
        colour((BASE_MALT, but(CRYSTAL, kg=kg)), wort_volume_l=20).value
        for kg in sorted((one, other))
    )
    assert pale <= dark


def test_colour_of_a_grist_by_hand():
    """(4.5 kg * 2 L + 0.3 kg * 60 L) * 8.3454 / 20 L is 11.266 MCU."""
    srm = colour((BASE_MALT, CRYSTAL), wort_volume_l=20)
    assert sum(part.value for part in srm.parts) == pytest.approx(11.2663, abs=0.0001)
    assert srm.value == srm_from_mcu(srm.terms[0].value)
    assert not srm.notes


def test_priming_sugar_has_no_colour_in_the_wort():
    primed = (BASE_MALT, but(CORN_SUGAR, use=Use.PRIMING, colour_lovibond=100))
    assert colour(primed, wort_volume_l=20).value == colour((BASE_MALT,), wort_volume_l=20).value


def test_a_very_dark_beer_says_that_it_is_an_extrapolation():
    black = but(CRYSTAL, colour_lovibond=500.0, kg=2.0)
    assert "extrapolation" in colour((black,), wort_volume_l=20).notes[0]


def test_water_has_no_colour():
    assert colour((), wort_volume_l=20).value == 0


def test_colour_below_nothing_is_refused():
    with pytest.raises(ValueError, match="colour of Pale malt cannot be less than zero"):
        colour((but(BASE_MALT, colour_lovibond=-1.0),), wort_volume_l=20)


def test_many_grists_at_once_are_coloured_as_one_by_one():
    mcu = np.array([0.0, 5.0, 60.0])
    assert srm_from_mcu(mcu) == pytest.approx([srm_from_mcu(one) for one in mcu])
    with pytest.raises(ValueError, match="malt colour cannot be less than zero, and was -2"):
        srm_from_mcu(np.array([4.0, -2.0]))
