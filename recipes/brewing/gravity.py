"""Gravity and extract: specific gravity, degrees Plato, points and litre-degrees.

A *point* is a thousandth of specific gravity above water (1.048 is 48 points). A *litre-degree*
is one point in one litre, so points of a wort are litre-degrees over litres.

>>> plato_from_sg(1.048)
11.91
>>> sg_from_plato(12.0)
1.04837

Sources: the cubic is the American Society of Brewing Chemists' fit to the Plato table, as quoted
in brewing texts; 46.214 points per lb per US gal is the extract of sucrose; the pound of
0.45359237 kg and the US gallon of 3.785411784 L are exact.
"""

from __future__ import annotations

from boxwort.working import not_negative, positive, share

LITRES_PER_US_GAL = 3.785411784
KG_PER_LB = 0.45359237
LITRE_DEGREES_PER_PPG = LITRES_PER_US_GAL / KG_PER_LB  # 8.3454
SUCROSE_PPG = 46.214

HIGHEST_PLATO = 70.0
_NEWTON_STEPS = 6  # doubles the right digits each time: 1e-12 after four from -10 to 70 degrees


def plato_from_sg(sg: float) -> float:
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


def points_from_sg(sg: float) -> float:
    """Return gravity points: thousandths above water."""
    return (sg - 1) * 1000


def sg_from_points(points: float) -> float:
    """Return the specific gravity of a wort with this many points."""
    return 1 + points / 1000


def litre_degrees_per_kg(ppg: float) -> float:
    """Return litre-degrees per kg of points per lb per US gal.

    >>> litre_degrees_per_kg(46)
    383.89
    """
    return not_negative("points per lb per US gal", ppg) * LITRE_DEGREES_PER_PPG


def ppg_from_extract(dry_extract: float, moisture: float) -> float:
    """Return points per lb per US gal of a malt from its laboratory extract.

    Parameters
    ----------
    dry_extract: fine-grind extract as a share of the dry malt, 0-1.
    moisture: water as a share of the malt as it is, 0-1.

    >>> ppg_from_extract(0.79, 0.04)
    35.05
    """
    return SUCROSE_PPG * share("extract", dry_extract) * (1 - share("moisture", moisture))


def potential(dry_extract: float, moisture: float) -> float:
    """Return litre-degrees per kg of a malt from its laboratory extract (shares 0-1)."""
    return litre_degrees_per_kg(ppg_from_extract(dry_extract, moisture))
