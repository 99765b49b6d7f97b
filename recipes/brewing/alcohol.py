"""Alcohol after Balling, from original and final gravity.

2.0665 g of extract become 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast. The real
extract comes from q = 0.22 + 0.001 OE, which reproduces Balling's table of factors. The short form
0.1808 OE + 0.8192 AE of brewing texts misses it by .002 to .011, and nothing here uses it.

>>> alcohol_by_volume(1.050, 1.012).value
5.00

Source: C. J. N. Balling, by way of F. Eckhardt's table of factors.
"""

from __future__ import annotations

import numpy as np

from boxwort.working import Numbers, Term, Working
from recipes.brewing.gravity import plato_from_sg

SOURCE = "Balling; checked against the table of factors of F. Eckhardt"
ETHANOL_DENSITY = 0.791  # relative to water


def real_extract(original_plato: Numbers, apparent_plato: Numbers) -> Numbers:
    """Return what is left of the extract, degrees Plato, freed of the lightness of alcohol."""
    q = 0.22 + 0.001 * original_plato
    return (q * original_plato + apparent_plato) / (1 + q)


def alcohol_by_weight(original_plato: Numbers, apparent_plato: Numbers) -> Numbers:
    """Return g of alcohol per 100 g of beer, in percent.

    Raises
    ------
    ValueError: the beer has more extract than the wort it came from.
    """
    _refuse_unfermented(original_plato, apparent_plato)
    fermented = original_plato - real_extract(original_plato, apparent_plato)
    return fermented / (2.0665 - 0.010665 * original_plato)


def alcohol_by_volume(og: float, fg: float) -> Working:
    """Return ABV in percent from the original and final specific gravity."""
    original, apparent = plato_from_sg(og), plato_from_sg(fg)
    by_weight = alcohol_by_weight(original, apparent)
    return Working(
        name="Alcohol by volume",
        formula=(
            "ABW * FG / 0.791, ABW = (OE - RE) / (2.0665 - 0.010665 * OE), "
            "RE = (q * OE + AE) / (1 + q), q = 0.22 + 0.001 * OE"
        ),
        terms=(
            Term(name="OG", value=og, unit="SG"),
            Term(name="FG", value=fg, unit="SG"),
            Term(name="OE", value=original, unit="°P"),
            Term(name="AE", value=apparent, unit="°P"),
            Term(name="RE", value=real_extract(original, apparent), unit="°P"),
            Term(name="ABW", value=by_weight, unit="%"),
        ),
        value=by_weight * fg / ETHANOL_DENSITY,
        unit="%",
        source=SOURCE,
    )


def _refuse_unfermented(original_plato: Numbers, apparent_plato: Numbers) -> None:
    """Refuse a beer with more extract than its wort; of arrays, the worst pair is named."""
    gain = np.ravel(apparent_plato - original_plato)
    if not gain.size or gain.max() <= 0:
        return
    worst = gain.argmax()
    msg = (
        f"final extract {np.ravel(apparent_plato)[worst]:.2f} P is above the original "
        f"{np.ravel(original_plato)[worst]:.2f} P; check the two gravities"
    )
    raise ValueError(msg)
