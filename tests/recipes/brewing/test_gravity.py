from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from recipes.brewing.gravity import (
    plato_from_sg,
    points_from_sg,
    potential,
    ppg_from_extract,
    sg_from_plato,
    sg_from_points,
)


@given(st.floats(-10, 70))
def test_plato_goes_to_gravity_and_back(plato):
    assert plato_from_sg(sg_from_plato(plato)) == pytest.approx(plato, abs=1e-9)


@given(st.floats(0.98, 1.2))
def test_gravity_goes_to_plato_and_back(sg):
    assert sg_from_plato(plato_from_sg(sg)) == pytest.approx(sg, abs=1e-9)


@given(st.floats(0.98, 1.19), st.floats(1e-6, 0.01))
def test_a_heavier_wort_has_more_plato(sg, more):
    assert plato_from_sg(sg + more) > plato_from_sg(sg)


def test_points_are_thousandths_above_water():
    assert points_from_sg(1.048) == pytest.approx(48)
    assert sg_from_points(48) == pytest.approx(1.048)


def test_damp_malt_gives_less():
    assert potential(0.80, 0.06) < potential(0.80, 0.03)


@pytest.mark.parametrize("plato", [-11.0, 71.0, float("nan")])
def test_no_wort_is_that_strong_or_weak(plato):
    with pytest.raises(ValueError, match="not a wort or a beer"):
        sg_from_plato(plato)


def test_percent_typed_as_a_share_is_refused():
    with pytest.raises(ValueError, match="a share from 0 to 1"):
        ppg_from_extract(79, 0.04)


def test_no_liquid_weighs_nothing():
    with pytest.raises(ValueError, match="specific gravity must be more than zero"):
        plato_from_sg(0)


def test_many_worts_at_once_read_as_one_by_one():
    worts = np.array([0.998, 1.040, 1.090])
    assert plato_from_sg(worts) == pytest.approx([plato_from_sg(sg) for sg in worts])
    assert sg_from_points(points_from_sg(worts)) == pytest.approx(worts)


def test_one_impossible_wort_among_many_is_refused():
    with pytest.raises(ValueError, match="specific gravity must be more than zero, not -1"):
        plato_from_sg(np.array([1.040, -1.0]))
