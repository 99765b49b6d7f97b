"""Gravity and extract: specific gravity, degrees Plato, points and litre-degrees.

A *point* is a thousandth of specific gravity above water (1.048 is 48 points). A *litre-degree*
is one point in one litre, so points of a wort are litre-degrees over litres.

>>> plato_from_sg(1.048)
11.91
>>> sg_from_plato(12.0)
1.04837

Source: the cubic is the American Society of Brewing Chemists' fit to the Plato table, as quoted in
brewing texts. A malt's laboratory extract is read by :mod:`boxwort.laboratory`.
"""

from __future__ import annotations

from boxwort.laboratory import LITRE_DEGREES_PER_PPG as LITRE_DEGREES_PER_PPG
from boxwort.laboratory import SUCROSE_PPG as SUCROSE_PPG
from boxwort.laboratory import litre_degrees_per_kg as litre_degrees_per_kg
from boxwort.laboratory import potential as potential
from boxwort.laboratory import ppg_from_extract as ppg_from_extract
from boxwort.working import Numbers, positive

HIGHEST_PLATO = 70.0
_NEWTON_STEPS = 6  # doubles the right digits each time: 1e-12 after four from -10 to 70 degrees


def plato_from_sg(sg: Numbers) -> Numbers:
    """Return degrees Plato (g extract per 100 g) of a specific gravity at 20 C."""
    positive("specific gravity", sg)
    return -616.868 + sg * (1111.14 + sg * (-630.272 + sg * 135.997))


def sg_from_plato(plato: float) -> float:
    """Return the specific gravity at 20 C whose cubic is ``plato``, by Newton's method.

    The cubic rises everywhere, so there is one answer. Finished beer may be a little below 0.

    Raises
    ------
    ValueError: outside -10 to 70 degrees, where no wort or beer is.
    """
    if not -10 <= plato <= HIGHEST_PLATO:
        msg = f"{plato:g} degrees Plato is not a wort or a beer; give -10 to {HIGHEST_PLATO:g}"
        raise ValueError(msg)
    sg = 1 + plato / 250
    for _ in range(_NEWTON_STEPS):
        slope = 1111.14 + sg * (-1260.544 + sg * 407.991)
        sg -= (plato_from_sg(sg) - plato) / slope
    return sg


def points_from_sg(sg: Numbers) -> Numbers:
    """Return gravity points: thousandths above water."""
    return (sg - 1) * 1000


def sg_from_points(points: Numbers) -> Numbers:
    """Return the specific gravity of a wort with this many points."""
    return 1 + points / 1000
