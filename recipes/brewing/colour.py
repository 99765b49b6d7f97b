"""Colour of the finished wort after Morey, and the scales colour is quoted in.

>>> srm_from_mcu(20)
11.65
>>> ebc_from_srm(10)
19.7

Source: D. Morey, BrewingTechniques (SRM = 1.4922 MCU^0.6859). The scales are those of
:mod:`boxwort.laboratory`.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from boxwort.laboratory import LITRE_DEGREES_PER_PPG
from boxwort.laboratory import ebc_from_srm as ebc_from_srm
from boxwort.laboratory import lovibond_from_wort_srm as lovibond_from_wort_srm
from boxwort.laboratory import srm_from_ebc as srm_from_ebc
from boxwort.working import Numbers, Term, Working, not_negative, positive
from recipes.brewing.extract import Fermentable, wort_fermentables

SOURCE = "D. Morey, BrewingTechniques"
MCU_PER_LOVIBOND_KG_L = LITRE_DEGREES_PER_PPG  # lb per US gal in one kg per litre
SRM_FITTED_TO = 50.0


def srm_from_mcu(mcu: Numbers) -> Numbers:
    """Return SRM of malt colour units (degrees Lovibond * lb / US gal)."""
    srm: Numbers = 1.4922 * not_negative("malt colour", mcu) ** 0.6859
    return srm


def colour(fermentables: Sequence[Fermentable], *, wort_volume_l: float) -> Working:
    """Return SRM of the finished wort, with one part (MCU) for each fermentable."""
    positive("wort volume", wort_volume_l)
    parts = tuple(_mcu_working(line, wort_volume_l) for line in wort_fermentables(fermentables))
    mcu = math.fsum(part.value for part in parts)
    srm = srm_from_mcu(mcu)
    dark = srm > SRM_FITTED_TO
    return Working(
        name="Colour",
        formula="1.4922 * MCU^0.6859",
        terms=(Term(name="MCU", value=mcu, unit="degrees Lovibond lb/US gal"),),
        value=srm,
        unit="SRM",
        source=SOURCE,
        notes=("Above 50 SRM the formula is an extrapolation.",) if dark else (),
        parts=parts,
    )


def _mcu_working(line: Fermentable, wort_volume_l: float) -> Working:
    weight = not_negative(f"weight of {line.name}", line.kg)
    lovibond = not_negative(f"colour of {line.name}", line.colour_lovibond)
    return Working(
        name=line.name,
        formula="weight * colour * 8.3454 / wort volume",
        terms=(
            Term(name="weight", value=weight, unit="kg"),
            Term(name="colour", value=lovibond, unit="degrees Lovibond"),
            Term(name="wort volume", value=wort_volume_l, unit="L"),
        ),
        value=weight * lovibond * MCU_PER_LOVIBOND_KG_L / wort_volume_l,
        unit="degrees Lovibond lb/US gal",
        source=SOURCE,
    )
