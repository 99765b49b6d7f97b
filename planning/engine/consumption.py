"""Customer orders use up the forecast that foresaw them.

An order takes from the forecast of its own week, then from the weeks before it, the nearest first,
then from the weeks after it. What is left of the forecast is still to come, so demand is the
orders and what they leave.

>>> forecast_left(
...     np.array([[0, 12, 0, 3]]), np.array([[10, 10, 10, 10]]), back=1, forward=1
... ).tolist()
[[8, 0, 10, 7]]
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

IntArray = NDArray[np.int64]


def forecast_left(orders: IntArray, forecast: IntArray, *, back: int, forward: int) -> IntArray:
    """Return what orders leave of the forecast.

    All orders take of their own week before any takes of another's, and so on week by week of
    distance: no order loses its own week to one that is further away.

    Parameters
    ----------
    orders, forecast: [kits, weeks] whole kits.
    back, forward: how many weeks before and after its own an order may use up.

    Raises
    ------
    ValueError: arrays of different shapes, or anything below zero.
    """
    if orders.shape != forecast.shape:
        msg = f"orders {orders.shape} and forecast {forecast.shape} are of different weeks"
        raise ValueError(msg)
    if back < 0 or forward < 0 or (orders < 0).any() or (forecast < 0).any():
        msg = "orders, forecast and the weeks around them cannot be less than zero"
        raise ValueError(msg)
    rest, left = orders.copy(), forecast.copy()
    weeks = orders.shape[1]
    _take(rest, left)
    for distance in range(1, min(back, weeks - 1) + 1):
        _take(rest[:, distance:], left[:, :-distance])
    for distance in range(1, min(forward, weeks - 1) + 1):
        _take(rest[:, :-distance], left[:, distance:])
    return left


def _take(rest: IntArray, left: IntArray) -> None:
    """Take of what is left, in place, each order from the week beside it."""
    taken = np.minimum(rest, left)
    rest -= taken
    left -= taken
