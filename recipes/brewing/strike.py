"""Mash water: how hot it must be struck, how much goes in, and how much runs off.

A pound of grain holds as much heat as 0.2 US quarts of water, so water at the strike temperature
and grain at its own settle at that of the mash. The published formula is in quarts per pound; here
the thickness is in litres per kilogram, and is turned into quarts per pound by the exact factor.

>>> strike_temperature(mash_l_per_kg=2.608, grain_c=21.1, mash_c=66.7).value
73.99
>>> first_runnings(grain_kg=5.0, mash_l_per_kg=3.0).value
9.78

Sources: J. Palmer, How to Brew, 1st ed., ch. 16.3: Tw = (0.2 / r) (T2 - T1) + T2. Grain keeps about
0.125 US gal of water per lb.
"""

from __future__ import annotations

from boxwort.working import Term, Working, positive
from recipes.brewing.gravity import LITRE_DEGREES_PER_PPG

STRIKE_SOURCE = "J. Palmer, How to Brew, 1st ed., ch. 16.3"
ABSORPTION_SOURCE = "grain keeps about 0.125 US gal of water per lb"
THICKNESS_SOURCE = "the recipe's mash thickness"

L_PER_KG_OF_GAL_PER_LB = LITRE_DEGREES_PER_PPG  # the same exact factor, 8.3454
L_PER_KG_OF_QT_PER_LB = L_PER_KG_OF_GAL_PER_LB / 4  # 2.0864
GRAIN_HEAT_QT_PER_LB = 0.2
ABSORPTION_L_PER_KG = 0.125 * L_PER_KG_OF_GAL_PER_LB  # 1.0432
BOILING_C = 100.0


def strike_temperature(*, mash_l_per_kg: float, grain_c: float, mash_c: float) -> Working:
    """Return how hot the water must be, in C, when the grain goes in.

    Parameters
    ----------
    mash_l_per_kg: litres of water per kilogram of grain.
    grain_c: temperature of the dry grain.
    mash_c: temperature at which the mash is to rest.

    Raises
    ------
    ValueError: the water would have to be hotter than boiling.
    """
    positive("mash thickness", mash_l_per_kg)
    _liquid("grain temperature", grain_c)
    _liquid("mash temperature", mash_c)
    thickness = mash_l_per_kg / L_PER_KG_OF_QT_PER_LB
    strike_c = GRAIN_HEAT_QT_PER_LB / thickness * (mash_c - grain_c) + mash_c
    if strike_c > BOILING_C:
        msg = (
            f"the water would have to be {strike_c:.0f} C, above boiling; use more water for the "
            "grain, or warm the grain"
        )
        raise ValueError(msg)
    return Working(
        name="Strike temperature",
        formula="0.2 / r * (mash - grain) + mash, r = thickness / 2.0864",
        terms=(
            Term(name="thickness", value=mash_l_per_kg, unit="L/kg"),
            Term(name="r", value=thickness, unit="qt/lb"),
            Term(name="grain", value=grain_c, unit="°C"),
            Term(name="mash", value=mash_c, unit="°C"),
        ),
        value=strike_c,
        unit="°C",
        source=STRIKE_SOURCE,
        notes=(
            "Water this hot scalds: heat it with nobody near it, and pour it slowly.",
            "The heat that the mash tun takes is left out: warm the tun first.",
        ),
    )


def mash_water(*, grain_kg: float, mash_l_per_kg: float) -> Working:
    """Return the litres of water that a mash of this thickness needs."""
    positive("weight of mashed grain", grain_kg)
    positive("mash thickness", mash_l_per_kg)
    return Working(
        name="Mash water",
        formula="grain * thickness",
        terms=(
            Term(name="grain", value=grain_kg, unit="kg"),
            Term(name="thickness", value=mash_l_per_kg, unit="L/kg"),
        ),
        value=grain_kg * mash_l_per_kg,
        unit="L",
        source=THICKNESS_SOURCE,
    )


def absorbed_water(*, grain_kg: float) -> Working:
    """Return the litres of water that stay in the spent grain."""
    positive("weight of grain", grain_kg)
    return Working(
        name="Absorbed water",
        formula="grain * absorption",
        terms=(
            Term(name="grain", value=grain_kg, unit="kg"),
            Term(name="absorption", value=ABSORPTION_L_PER_KG, unit="L/kg"),
        ),
        value=grain_kg * ABSORPTION_L_PER_KG,
        unit="L",
        source=ABSORPTION_SOURCE,
    )


def first_runnings(*, grain_kg: float, mash_l_per_kg: float) -> Working:
    """Return the litres that run off a mash before any water is added to rinse it.

    Raises
    ------
    ValueError: the grain keeps all of it.
    """
    poured = mash_water(grain_kg=grain_kg, mash_l_per_kg=mash_l_per_kg)
    kept = absorbed_water(grain_kg=grain_kg)
    if poured.value <= kept.value:
        msg = (
            f"{poured.value:.1f} L of water all stay in {grain_kg:g} kg of grain; use more than "
            f"{ABSORPTION_L_PER_KG:.2f} L/kg"
        )
        raise ValueError(msg)
    return Working(
        name="First runnings",
        formula="mash water - absorbed water",
        terms=(
            Term(name="mash water", value=poured.value, unit="L"),
            Term(name="absorbed water", value=kept.value, unit="L"),
        ),
        value=poured.value - kept.value,
        unit="L",
        source=ABSORPTION_SOURCE,
        parts=(poured, kept),
    )


def _liquid(what: str, celsius: float) -> None:
    if not 0 <= celsius <= BOILING_C:
        msg = f"{what} of {celsius:g} C is not one of a mash; give 0 to {BOILING_C:g} C"
        raise ValueError(msg)
