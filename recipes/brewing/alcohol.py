"""Alcohol after Balling, from original and final gravity.

2.0665 g of extract become 1 g of alcohol, 0.9565 g of carbon dioxide and 0.11 g of yeast. The real
extract comes from q = 0.22 + 0.001 OE, which reproduces Balling's table of factors; the short form
0.1808 OE + 0.8192 AE does not, and is not used.

>>> alcohol_by_volume(1.050, 1.012).value
5.00

Source: C. J. N. Balling, by way of F. Eckhardt's table of factors.
"""

from __future__ import annotations

from boxwort.working import Term, Working
from recipes.brewing.gravity import plato_from_sg

SOURCE = "Balling; checked against the table of factors of F. Eckhardt"
ETHANOL_DENSITY = 0.791  # relative to water


def real_extract(original_plato: float, apparent_plato: float) -> float:
    """Return what is left of the extract, degrees Plato, freed of the lightness of alcohol."""
    q = 0.22 + 0.001 * original_plato
    return (q * original_plato + apparent_plato) / (1 + q)


def alcohol_by_weight(original_plato: float, apparent_plato: float) -> float:
    """Return g of alcohol per 100 g of beer, in percent.

    Raises
    ------
    ValueError: the beer has more extract than the wort it came from.
    """
    if apparent_plato > original_plato:
        msg = (
            f"final extract {apparent_plato:.2f} P is above the original {original_plato:.2f} P; "
            "check the two gravities"
        )
        raise ValueError(msg)
    fermented = original_plato - real_extract(original_plato, apparent_plato)
    return fermented / (2.0665 - 0.010665 * original_plato)


def alcohol_factor(original_plato: float) -> float:
    """Return f of ABW = f * (original - apparent extract), the factor that Balling tabled."""
    return alcohol_by_weight(original_plato, original_plato - 1)


def alcohol_by_volume(og: float, fg: float) -> Working:
    """Return ABV in percent from the original and final specific gravity."""
    original, apparent = plato_from_sg(og), plato_from_sg(fg)
    by_weight = alcohol_by_weight(original, apparent)
    return Working(
        name="Alcohol by volume",
        formula=(
            "ABW * FG / 0.791, ABW = (OE - RE) / (2.0665 - 0.010665 OE), "
            "RE = (q OE + AE) / (1 + q), q = 0.22 + 0.001 OE"
        ),
        terms=(
            Term(name="OG", value=og, unit="SG"),
            Term(name="FG", value=fg, unit="SG"),
            Term(name="OE", value=original, unit="P"),
            Term(name="AE", value=apparent, unit="P"),
            Term(name="RE", value=real_extract(original, apparent), unit="P"),
            Term(name="ABW", value=by_weight, unit="%"),
        ),
        value=by_weight * fg / ETHANOL_DENSITY,
        unit="%",
        source=SOURCE,
    )
