"""The boil minutes of a pouch sold at a fixed weight: which whole minutes give what is asked."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Mapping
from dataclasses import dataclass

from planning.engine.rounding import NO_STEP

NOISE = 1e-9
"""Of a bitterness, what is float noise and no wish for another minute."""


@dataclass(frozen=True, kw_only=True)
class MovedTime:
    """What an addition is asked for, in minutes.

    Attributes
    ----------
    exact: the minutes that give the bitterness asked for, held inside the limits. Between two
        whole minutes bitterness is taken to rise in a straight line.
    choices: the whole minutes either side, or the one that is meant.
    too_short: even the most minutes give too little.
    too_long: even the least minutes give too much.
    """

    exact: float
    choices: tuple[int, ...]
    too_short: bool = False
    too_long: bool = False

    @property
    def nearest(self) -> int:
        """The whole minute nearest to what is asked."""
        return min(self.choices, key=lambda minute: abs(minute - self.exact))


def moved_time(minutes_table: Mapping[int, float], wanted: float) -> MovedTime:
    """Return the minutes that give ``wanted`` IBU per gram of pure alpha acid.

    Minutes are whole, so that up to half a minute past a limit rounds to the limit and is not
    beyond it.

    Parameters
    ----------
    minutes_table: IBU per gram of alpha acid by whole minutes, least to most.
    wanted: IBU per gram of alpha acid; below zero where other additions already pass the target.

    >>> table = {10: 4.0, 11: 4.3, 12: 4.5}
    >>> moved_time(table, 4.4)
    MovedTime(exact=11.5, choices=(11, 12), too_short=False, too_long=False)
    >>> moved_time(table, 4.7)
    MovedTime(exact=12, choices=(12,), too_short=True, too_long=False)
    """
    minutes = list(minutes_table)
    given = list(minutes_table.values())
    if wanted <= given[0]:
        least = minutes[0]
        slack = (given[min(1, len(given) - 1)] - given[0]) / 2 or NOISE * given[0]
        return MovedTime(exact=least, choices=(least,), too_long=wanted < given[0] - slack)
    if wanted >= given[-1]:
        most = minutes[-1]
        slack = (given[-1] - given[max(-2, -len(given))]) / 2 or NOISE * given[-1]
        return MovedTime(exact=most, choices=(most,), too_short=wanted > given[-1] + slack)
    at = bisect_right(given, wanted) - 1
    part = (wanted - given[at]) / (given[at + 1] - given[at])
    first = at if part <= 1 - NO_STEP else at + 1
    last = at if part < NO_STEP else at + 1
    return MovedTime(exact=minutes[at] + part, choices=tuple(minutes[first : last + 1]))
