"""How much yeast a wort needs, in cells, grams and whole packs.

>>> cells_needed(pitch_rate_million=0.75, volume_l=20, plato=12)
180000000000.0
>>> liquid_packs(cells=180e9, cells_per_pack=100e9, viability=0.8)
3
>>> dry_packs(dose_g_per_hl=50, volume_l=20, grams_per_pack=11.5, activity=1.0)
1

Sources: G. Fix, 0.75 million cells per mL per degree Plato for ale, 1.5 for lager; dry doses of
50-80 g/hL for ale and 80-120 g/hL for lager from a maker's brochure.
"""

from __future__ import annotations

import math

from boxwort.working import Term, Working, positive, share

LIQUID_SOURCE = "G. Fix, 0.75 (ale) and 1.5 (lager) million cells per mL per degree Plato"
DRY_SOURCE = "dose in g/hL as the makers of dry yeast state it"

_ROUNDING_NOISE = 1e-9


def cells_needed(*, pitch_rate_million: float, volume_l: float, plato: float) -> float:
    """Return the viable cells a wort needs.

    Parameters
    ----------
    pitch_rate_million: million cells per mL per degree Plato.
    volume_l: volume in the fermenter, litres.
    plato: original extract, degrees Plato.
    """
    positive("pitch rate", pitch_rate_million)
    positive("fermenter volume", volume_l)
    positive("original extract", plato)
    return pitch_rate_million * 1e6 * volume_l * 1000 * plato


def liquid_packs(*, cells: float, cells_per_pack: float, viability: float) -> int:
    """Return the whole packs whose viable cells are at least ``cells`` (viability 0-1)."""
    _living(viability, "viability")
    return _whole_packs(
        positive("cells needed", cells) / (positive("cells per pack", cells_per_pack) * viability)
    )


def dry_grams_needed(*, dose_g_per_hl: float, volume_l: float, activity: float = 1.0) -> float:
    """Return grams of dry yeast of this activity (0-1) that give the dose of fresh yeast."""
    _living(activity, "activity")
    positive("dose", dose_g_per_hl)
    return dose_g_per_hl * positive("fermenter volume", volume_l) / 100 / activity


def dry_packs(
    *, dose_g_per_hl: float, volume_l: float, grams_per_pack: float, activity: float
) -> int:
    """Return the whole sachets that give the dose."""
    grams = dry_grams_needed(dose_g_per_hl=dose_g_per_hl, volume_l=volume_l, activity=activity)
    return _whole_packs(grams / positive("grams per pack", grams_per_pack))


def liquid_pitch(
    *,
    pitch_rate_million: float,
    volume_l: float,
    plato: float,
    cells_per_pack: float,
    viability: float,
) -> Working:
    """Return the packs of liquid yeast a wort needs, as a whole number with its working."""
    cells = cells_needed(pitch_rate_million=pitch_rate_million, volume_l=volume_l, plato=plato)
    packs = liquid_packs(cells=cells, cells_per_pack=cells_per_pack, viability=viability)
    return Working(
        name="Packs of liquid yeast",
        formula=(
            "cells needed / (cells per pack * viability / 100), rounded up, "
            "cells needed = pitch rate * fermenter volume * original extract"
        ),
        terms=(
            Term(name="pitch rate", value=pitch_rate_million, unit="million/mL/P"),
            Term(name="fermenter volume", value=volume_l, unit="L"),
            Term(name="original extract", value=plato, unit="°P"),
            Term(name="cells needed", value=cells / 1e9, unit="billion"),
            Term(name="cells per pack", value=cells_per_pack / 1e9, unit="billion"),
            Term(name="viability", value=viability * 100, unit="%"),
        ),
        value=float(packs),
        unit="packs",
        source=LIQUID_SOURCE,
    )


def dry_pitch(
    *, dose_g_per_hl: float, volume_l: float, grams_per_pack: float, activity: float
) -> Working:
    """Return the sachets of dry yeast a wort needs, as a whole number with its working."""
    grams = dry_grams_needed(dose_g_per_hl=dose_g_per_hl, volume_l=volume_l, activity=activity)
    packs = dry_packs(
        dose_g_per_hl=dose_g_per_hl,
        volume_l=volume_l,
        grams_per_pack=grams_per_pack,
        activity=activity,
    )
    return Working(
        name="Packs of dry yeast",
        formula=(
            "yeast needed / pack, rounded up, "
            "yeast needed = dose * fermenter volume / 100 / (activity / 100)"
        ),
        terms=(
            Term(name="dose", value=dose_g_per_hl, unit="g/hL"),
            Term(name="fermenter volume", value=volume_l, unit="L"),
            Term(name="activity", value=activity * 100, unit="%"),
            Term(name="yeast needed", value=grams, unit="g"),
            Term(name="pack", value=grams_per_pack, unit="g"),
        ),
        value=float(packs),
        unit="packs",
        source=DRY_SOURCE,
    )


def _living(value: float, what: str) -> None:
    if share(what, value) == 0:
        msg = "no pack is enough: none of this yeast is alive; use another lot"
        raise ValueError(msg)


def _whole_packs(packs: float) -> int:
    """Round up, forgiving the last bit of a division that should have come out whole."""
    return max(1, math.ceil(packs - _ROUNDING_NOISE))
