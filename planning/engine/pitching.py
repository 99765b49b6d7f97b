"""What packs of an ageing yeast give a wort, in shares of the pitch it asks for.

A kit asks for ``asked`` packs of fresh yeast, a fraction. A lot's pack gives its living share of
that, and its fill where the lot holds more or fewer cells than its specification says.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from math import ceil

from boxwort.working import Term, Working

LONGEST_DAYS = 3 * 365
_ROUNDING_NOISE = 1e-9


def pitched_share(*, packs: int, living: float, fill: float, asked: float) -> float:
    """Return the share of the asked pitch that so many packs give (1.0: all of it).

    >>> pitched_share(packs=2, living=0.8, fill=1.0, asked=1.6)
    1.0
    """
    return packs * living * fill / asked


def packs_for(*, share: float, living: float, fill: float, asked: float) -> int | None:
    """Return the fewest whole packs that give a share of the asked pitch; None: all are dead.

    >>> packs_for(share=1.0, living=0.5, fill=1.0, asked=1.8)
    4
    """
    if living * fill == 0:
        return None
    return max(1, ceil(share * asked / (living * fill) - _ROUNDING_NOISE))


def pitch(*, packs: int, alive: Working, fill: float, asked: float) -> Working:
    """Return the share of the asked pitch, in percent, with its working.

    ``alive`` is the living share of the yeast on that day, in percent.
    """
    return Working(
        name="Pitch",
        formula="packs * living share * fill / packs of fresh yeast asked for",
        terms=(
            Term(name="packs", value=float(packs), unit="packs"),
            Term(name="living share", value=alive.value, unit="%"),
            Term(name="fill", value=fill, unit=""),
            Term(name="packs of fresh yeast asked for", value=asked, unit="packs"),
        ),
        value=pitched_share(packs=packs, living=alive.value / 100, fill=fill, asked=asked) * 100,
        unit="% of the asked pitch",
        source="common practice",
        parts=(alive,),
    )


def last_day(serves: Callable[[date], bool], first: date) -> date | None:
    """Return the last day on which ``serves`` holds, looking at most three years ahead.

    Once it fails it must go on failing. None: it does not hold on the first day.

    >>> last_day(lambda day: day < date(2026, 12, 24), date(2026, 11, 25)).isoformat()
    '2026-12-23'
    """
    if not serves(first):
        return None
    good, bad = 0, LONGEST_DAYS
    while bad - good > 1:
        middle = (good + bad) // 2
        if serves(first + timedelta(days=middle)):
            good = middle
        else:
            bad = middle
    return first + timedelta(days=good)
