"""The boil minutes of :mod:`planning.engine.moved_time`, asked for in many kits at once."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
from numpy.typing import NDArray

from boxwort.quantities import MG_PER_G
from planning.engine.hop_line import HopLine
from planning.engine.moved_time import NOISE
from planning.engine.rounding import NO_STEP

Floats = NDArray[np.float64]
Whole = NDArray[np.int64]
Marks = NDArray[np.bool_]

NEVER = 1e9
"""The IBU of what may not be chosen: no such rounding is the nearest."""


@dataclass(frozen=True, kw_only=True)
class Asked:
    """What additions are asked for: arrays of additions x kits.

    Attributes
    ----------
    minutes: the whole minute below what is asked and the one above; twice the same where it is
        meant.
    ibu: what the addition gives after either.
    beyond: whether it is asked for more or less than its limits allow.
    """

    minutes: tuple[Whole, Whole]
    ibu: tuple[Floats, Floats]
    beyond: Marks

    def ways(self) -> Iterator[tuple[Floats, Floats | float]]:
        """Yield for each choice of minutes the IBU it gives, and a bar where it is none."""
        below, above = self.minutes
        bars = np.where(below == above, NEVER, 0.0)
        for chosen in product((0, 1), repeat=len(below)):
            given = [self.ibu[late][at] for at, late in enumerate(chosen)]
            yield sum(given), sum(bars[at] for at, late in enumerate(chosen) if late)

    def of_way(self, way: Whole) -> Whole:
        """Return the minutes of one choice a kit, counted as :meth:`ways` yields them."""
        below, above = self.minutes
        shift = np.arange(len(below) - 1, -1, -1)[:, None]
        return np.where(way >> shift & 1, above, below)


class TimesAlike:
    """Additions that move in time, the same number in each kit: ``rows`` is kits x additions."""

    def __init__(self, rows: Sequence[Sequence[HopLine]]) -> None:
        lines = list(zip(*rows, strict=True))  # additions x kits
        width = max(len(line.minutes_table) for row in lines for line in row)
        self._table = np.array(
            [[_padded([*line.minutes_table.values()], width) for line in row] for row in lines]
        )
        self._start = np.arange(0, self._table.size, width).reshape(self._table.shape[:2])
        self._last = np.array([[len(line.minutes_table) - 1 for line in row] for row in lines])
        self._first_minute = np.array([[min(line.minutes_table) for line in row] for row in lines])
        self._grams = np.array([[line.reference_mg / MG_PER_G for line in row] for row in lines])
        self._own = np.array(
            [[line.ibu_per_gram * line.reference_alpha for line in row] for row in lines]
        )
        self._least = self._table[..., 0]
        self._most = self._at(self._last)
        early, late = self._at(np.minimum(self._last, 1)), self._at(np.maximum(self._last - 1, 0))
        self._short = self._least - _slack(early - self._least, self._least)
        self._long = self._most + _slack(self._most - late, self._most)

    def asked(self, alphas: Floats, part: Floats | float) -> Asked:
        """Return the minutes at which each gives this part of its own bitterness."""
        wanted = part * self._own / alphas
        at = (self._table <= wanted[..., None]).sum(axis=-1) - 1
        at = np.minimum(np.maximum(at, 0), np.maximum(self._last - 1, 0))
        lower = self._at(at)
        step = self._at(np.minimum(at + 1, self._last)) - lower
        past = (wanted - lower) / np.where(step > 0, step, 1.0)
        below = np.where(past > 1 - NO_STEP, at + 1, at)
        above = np.where(past < NO_STEP, at, at + 1)
        floor, ceiling = (
            np.where(wanted <= self._least, 0, np.where(wanted >= self._most, self._last, place))
            for place in (below, above)
        )
        return Asked(
            minutes=(self._first_minute + floor, self._first_minute + ceiling),
            ibu=(
                self._at(floor) * self._grams * alphas,
                self._at(ceiling) * self._grams * alphas,
            ),
            beyond=(wanted < self._short) | (wanted > self._long),
        )

    def _at(self, places: Whole) -> Floats:
        given: Floats = self._table.ravel()[self._start + places]
        return given


def _padded(values: list[float], width: int) -> list[float]:
    return values + [np.inf] * (width - len(values))


def _slack(step: Floats, given: Floats) -> Floats:
    return np.where(step > 0, step / 2, NOISE * given)
