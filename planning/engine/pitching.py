"""What packs of an ageing yeast give a wort, in shares of the pitch it asks for.

A kit asks for ``asked`` packs of fresh yeast, a fraction. A lot's pack gives its living share of
that, and its fill where the lot holds more or fewer cells than its specification says. Below the
target a brewer makes up for it with a second pack, or by growing the missing cells in a starter.

>>> advised = starter(cells_missing=60e9)
>>> advised.value, starter_litres(60e9)
(1.20, 1.5)

Source of the starter: C. White and J. Zainasheff, Yeast (2010), as quoted by others: 100 billion
cells in 1 and 2 litres of still wort of 9 degrees Plato grew to 152 and 205 billion, about 50
billion new cells a litre. A stirred starter grows more; the house may set its own number.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, timedelta
from math import ceil

from boxwort.working import Term, Working, not_negative, positive

LONGEST_DAYS = 3 * 365
STARTER_CELLS_PER_L = 50e9
STARTER_STEP_L = 0.5
MOST_STARTER_L = 4.0
STARTER_SOURCE = (
    "C. White and J. Zainasheff, Yeast (2010), as quoted by others: about 50 billion new cells in "
    "a litre of still wort"
)
_ROUNDING_NOISE = 1e-9


def pitched_share(*, packs: int, living: float, fill: float, asked: float) -> float:
    """Return the share of the asked pitch that so many packs give (1.0: all of it).

    >>> pitched_share(packs=2, living=0.8, fill=1.0, asked=1.6)
    1.0
    """
    return packs * living * fill / asked


def enough(pitched: float, wanted: float) -> bool:
    """Return whether a pitch reaches what is wanted of it; just as much is enough.

    >>> enough(3 * 0.7 / 2.1, 1.0)  # a little less than 1 in binary
    True
    """
    return pitched >= wanted - _ROUNDING_NOISE


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


def starter(*, cells_missing: float, cells_per_l: float = STARTER_CELLS_PER_L) -> Working:
    """Return the litres of starter that grow the missing cells.

    Parameters
    ----------
    cells_missing: living cells short of the target.
    cells_per_l: new cells that a litre of starter wort grows.
    """
    missing = not_negative("cells missing", cells_missing)
    grown = positive("cells a litre of starter grows", cells_per_l)
    return Working(
        name="Starter",
        formula="cells missing / new cells per litre",
        terms=(
            Term(name="cells missing", value=missing / 1e9, unit="billion"),
            Term(name="new cells per litre", value=grown / 1e9, unit="billion/L"),
        ),
        value=missing / grown,
        unit="L",
        source=STARTER_SOURCE,
        notes=("Wort of 1.036 to 1.040, as a starter is made; the growth is set by the house.",),
    )


def starter_litres(cells_missing: float, cells_per_l: float = STARTER_CELLS_PER_L) -> float | None:
    """Return a starter in whole half litres; None where one of 4 L would not grow enough.

    >>> starter_litres(1e9), starter_litres(400e9)
    (0.5, None)
    """
    exact = starter(cells_missing=cells_missing, cells_per_l=cells_per_l).value
    litres = max(1, ceil(exact / STARTER_STEP_L - _ROUNDING_NOISE)) * STARTER_STEP_L
    return litres if litres <= MOST_STARTER_L else None


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
