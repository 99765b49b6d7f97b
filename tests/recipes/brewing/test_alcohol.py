from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.alcohol import (
    alcohol_by_volume,
    alcohol_by_weight,
    real_extract,
)


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


def test_many_beers_at_once_are_as_strong_as_one_by_one():
    original, apparent = np.array([10.0, 12.0, 18.0]), np.array([2.0, 3.0, 18.0])
    strong = alcohol_by_weight(original, apparent)
    one_by_one = [
        alcohol_by_weight(wort, beer) for wort, beer in zip(original, apparent, strict=True)
    ]
    assert strong == pytest.approx(one_by_one)


def test_of_many_beers_the_worst_pair_of_gravities_is_named():
    with pytest.raises(ValueError, match=r"extract 14\.00 P is above the original 12\.00 P"):
        alcohol_by_weight(np.array([10.0, 12.0, 18.0]), np.array([10.5, 14.0, 3.0]))


def test_no_beers_are_no_trouble():
    assert alcohol_by_weight(np.array([]), np.array([])).size == 0
