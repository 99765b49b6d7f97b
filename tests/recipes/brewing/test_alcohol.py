from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.alcohol import alcohol_by_volume, alcohol_by_weight, real_extract


@given(st.floats(0.1, 35), st.floats(0, 1))
def test_real_extract_lies_between_apparent_and_original(original, left):
    apparent = original * left
    assert apparent - 1e-9 <= real_extract(original, apparent) <= original + 1e-9


@given(st.floats(2, 35), st.floats(0, 1), st.floats(0, 1))
def test_a_drier_beer_is_stronger(original, one, other):
    dry, sweet = sorted((original * one, original * other))
    assert alcohol_by_weight(original, dry) >= alcohol_by_weight(original, sweet)


def test_wort_that_did_not_ferment_has_no_alcohol():
    assert alcohol_by_volume(1.050, 1.050).value == pytest.approx(0)


def test_a_dry_beer_may_end_below_water():
    assert alcohol_by_volume(1.040, 0.998).value > alcohol_by_volume(1.040, 1.000).value


def test_gravities_the_wrong_way_round_are_refused():
    with pytest.raises(ValueError, match="check the two gravities"):
        alcohol_by_volume(1.010, 1.050)
