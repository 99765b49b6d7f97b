"""Customer orders use up the forecast that foresaw them."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planning.engine.consumption import forecast_left


def left(orders, forecast, back=0, forward=0):
    return forecast_left(np.array([orders]), np.array([forecast]), back=back, forward=forward)[
        0
    ].tolist()


def test_orders_use_up_the_forecast_of_their_own_week():
    assert left([4, 0, 12], [10, 10, 10]) == [6, 10, 0]


def test_orders_beyond_their_week_go_back_first_and_then_forward():
    assert left([0, 25, 0], [10, 10, 10], back=1) == [0, 0, 10]
    assert left([0, 25, 0], [10, 10, 10], back=1, forward=1) == [0, 0, 5]


def test_nearest_week_is_used_first():
    assert left([0, 0, 15], [10, 10, 10], back=2) == [10, 5, 0]


def test_no_order_loses_its_own_week_to_another():
    assert left([20, 10], [10, 10], forward=1) == [0, 0]
    assert left([20, 4], [10, 10], forward=1) == [0, 0]
    assert left([12, 4], [10, 10], forward=1) == [0, 4]


def test_more_weeks_than_there_are_change_nothing():
    assert left([0, 15], [10, 10], back=50, forward=50) == [5, 0]


def test_each_kit_has_its_own_forecast():
    found = forecast_left(np.array([[5], [0]]), np.array([[3], [3]]), back=0, forward=0)

    assert found.tolist() == [[0], [3]]


def test_arrays_are_not_changed():
    orders, forecast = np.array([[5, 0]]), np.array([[3, 3]])

    forecast_left(orders, forecast, back=0, forward=1)

    assert (orders.tolist(), forecast.tolist()) == ([[5, 0]], [[3, 3]])


@pytest.mark.parametrize(
    ("orders", "forecast", "back", "said"),
    [
        ([[1, 2]], [[1]], 0, "different weeks"),
        ([[-1]], [[1]], 0, "less than zero"),
        ([[1]], [[1]], -1, "less than zero"),
    ],
)
def test_what_cannot_be_is_refused(orders, forecast, back, said):
    with pytest.raises(ValueError, match=said):
        forecast_left(np.array(orders), np.array(forecast), back=back, forward=0)


@settings(max_examples=60)
@given(
    weeks=st.lists(st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=8),
    back=st.integers(0, 3),
    forward=st.integers(0, 3),
)
def test_no_forecast_is_used_twice_or_by_an_order_too_far_away(weeks, back, forward):
    orders, forecast = np.array([[order for order, _ in weeks]]), np.array([[f for _, f in weeks]])

    found = forecast_left(orders, forecast, back=back, forward=forward)

    used = (forecast - found)[0]
    assert (found >= 0).all()
    assert used.sum() <= orders.sum()
    for week, taken in enumerate(used):
        near = orders[0, max(0, week - forward) : week + back + 1]
        assert taken <= near.sum()
        assert taken >= min(orders[0, week], forecast[0, week])
