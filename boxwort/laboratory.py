"""What maltings' laboratories write, in the units that stock and recipes reckon with; pure.

A malt's extract becomes litre-degrees per kg (points in one litre from one kilogram), its wort
colour degrees Lovibond, its enzyme power degrees Lintner. The stock room records analyses with
these, and recipes write figures with them, so that neither has a formula of its own.

>>> lovibond_from_wort_srm(srm_from_ebc(7.9))
3.52
>>> potential(0.79, 0.04)
292.5
>>> lintner_from_wk(334)
100.0

Sources: 46.214 points per lb per US gal is the extract of sucrose; the pound and the US gallon are
exact; R. Daniels (EBC = 1.97 SRM); wort colour and degrees Lovibond by SRM = 1.3546 L - 0.76; The
Oxford Companion to Beer (degrees Lintner = (degrees Windisch-Kolbach + 16) / 3.5).
"""

from __future__ import annotations

from boxwort.quantities import UNITS
from boxwort.working import not_negative, share

LITRE_DEGREES_PER_PPG = float(UNITS["US gal"].size / UNITS["lb"].size)  # 8.3454
SUCROSE_PPG = 46.214


def ebc_from_srm(srm: float) -> float:
    """Return the colour of beer or wort in EBC."""
    return 1.97 * not_negative("colour", srm)


def srm_from_ebc(ebc: float) -> float:
    """Return the colour of beer or wort in SRM."""
    return not_negative("colour", ebc) / 1.97


def lovibond_from_wort_srm(srm: float) -> float:
    """Return a malt's degrees Lovibond from the SRM of its laboratory wort."""
    return (not_negative("wort colour", srm) + 0.76) / 1.3546


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
    moisture: water as a share of the malt as it is, 0-1; 0 where the extract is of the malt as is.

    >>> ppg_from_extract(0.79, 0.04)
    35.05
    """
    return SUCROSE_PPG * share("extract", dry_extract) * (1 - share("moisture", moisture))


def potential(dry_extract: float, moisture: float) -> float:
    """Return litre-degrees per kg of a malt from its laboratory extract (shares 0-1)."""
    return litre_degrees_per_kg(ppg_from_extract(dry_extract, moisture))


def lintner_from_wk(windisch_kolbach: float) -> float:
    """Return degrees Lintner of degrees Windisch-Kolbach."""
    return (not_negative("degrees Windisch-Kolbach", windisch_kolbach) + 16) / 3.5
