"""Priming: the sugar that carbonates beer in the bottle, and what a given sugar comes to.

Beer keeps some of the carbon dioxide of its fermentation: as much as it can hold at the highest
temperature since fermentation slowed, because what warmth drives out does not come back when the
beer is cooled. Sugar makes up the rest. Carbon dioxide is counted in volumes: litres of the gas, at
0 C and one atmosphere, in a litre of beer.

Two rules for the sugar are in use and differ by 8 %, so each figure names its own. Stoichiometry
counts every molecule of sugar as carbon dioxide; brewing texts reckon with a little less sugar.

>>> residual_co2(18).value
0.935
>>> sugar_per_volume(Family.SUCROSE, PrimingRule.STOICHIOMETRY).value
3.82
>>> priming_sugar(
...     volumes=2.4, volume_l=19, highest_temperature_c=20, sugar=Family.GLUCOSE,
...     rule=PrimingRule.BREWING_TEXT,
... ).value
106.9

Sources: Hibberd's table of residual carbon dioxide and 3.7 g of glucose per litre and volume, both
as given by Draper; molar masses from the standard atomic weights, 22.414 L of gas per mole. Bottles
are typically rated for 4 volumes; warning above 3 is our own choice.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from boxwort.working import Term, Working, not_negative, positive
from recipes.brewing.roles import Family

RESIDUAL_SOURCE = "Hibberd's table, as given by Draper"
STOICHIOMETRY_SOURCE = "fermentation equation, standard atomic weights, 22.414 L of gas per mole"
BREWING_TEXT_SOURCE = "Draper: 3.7 g of glucose per litre and volume"

RESIDUAL_VOLUMES = ((0, 1.7), (4, 1.5), (8, 1.3), (12, 1.12), (16, 0.99), (20, 0.88))
"""Degrees Celsius and volumes of carbon dioxide that beer keeps."""
WARMEST_C = 30.0

CARBON_DIOXIDE_G_PER_MOL = 44.009
CARBON_DIOXIDE_G_PER_L = CARBON_DIOXIDE_G_PER_MOL / 22.414  # 1.96 in one volume
GLUCOSE_G_PER_L_VOLUME = 3.7

WARNED_ABOVE_VOLUMES = 3.0
BOTTLE_RATING_VOLUMES = 4.0

FINISHED = (
    "Bottle only when the gravity has been read twice, days apart, and stood still at the final "
    "gravity: sugar that is still fermenting comes on top of this and bursts bottles."
)


class PrimingRule(StrEnum):
    """How much sugar makes a volume of carbon dioxide."""

    STOICHIOMETRY = "stoichiometry"
    BREWING_TEXT = "brewing_text"


@dataclass(frozen=True, kw_only=True)
class PrimingSugar:
    """A sugar that ferments away: g per mole, and moles of carbon dioxide a mole of it gives."""

    name: str
    g_per_mol: float
    carbon_dioxide: int


_GLUCOSE = PrimingSugar(name="glucose, anhydrous", g_per_mol=180.156, carbon_dioxide=2)

PRIMING_SUGARS: dict[Family, PrimingSugar] = {
    Family.GLUCOSE: _GLUCOSE,
    Family.GLUCOSE_MONOHYDRATE: PrimingSugar(
        name="glucose monohydrate", g_per_mol=198.171, carbon_dioxide=2
    ),
    Family.SUCROSE: PrimingSugar(name="sucrose", g_per_mol=342.297, carbon_dioxide=4),
}


def residual_co2(highest_temperature_c: float) -> Working:
    """Return the volumes of carbon dioxide that beer has kept.

    Parameters
    ----------
    highest_temperature_c: the highest since fermentation slowed, not that of the cellar after it.
    """
    if not 0 <= highest_temperature_c <= WARMEST_C:
        msg = (
            f"{highest_temperature_c:g} C is not the warmest beer has been since fermentation "
            f"slowed; give 0 to {WARMEST_C:g} C"
        )
        raise ValueError(msg)
    steps = tuple(pairwise(RESIDUAL_VOLUMES))
    step = bisect_right(RESIDUAL_VOLUMES[1:-1], highest_temperature_c, key=lambda row: row[0])
    (cooler, more), (warmer, less) = steps[step]
    beyond = highest_temperature_c > warmer
    return Working(
        name="Residual carbon dioxide",
        formula="more + (less - more) * (temperature - cooler) / (warmer - cooler)",
        terms=(
            Term(name="temperature", value=highest_temperature_c, unit="°C"),
            Term(name="cooler", value=cooler, unit="°C"),
            Term(name="more", value=more, unit="volumes"),
            Term(name="warmer", value=warmer, unit="°C"),
            Term(name="less", value=less, unit="volumes"),
        ),
        value=more + (less - more) * (highest_temperature_c - cooler) / (warmer - cooler),
        unit="volumes",
        source=RESIDUAL_SOURCE,
        notes=(
            "The temperature is the highest since fermentation slowed.",
            *(("Above 20 C the last step of the table is drawn on.",) if beyond else ()),
        ),
    )


def sugar_per_volume(sugar: Family, rule: PrimingRule) -> Working:
    """Return the grams of a sugar that give a litre of beer one volume of carbon dioxide."""
    form = _form(sugar)
    if rule is PrimingRule.STOICHIOMETRY:
        return Working(
            name=f"Sugar per volume, {form.name}",
            formula="sugar / (CO2 from it * carbon dioxide) * gas",
            terms=(
                Term(name="sugar", value=form.g_per_mol, unit="g/mol"),
                Term(name="CO2 from it", value=form.carbon_dioxide, unit=""),
                Term(name="carbon dioxide", value=CARBON_DIOXIDE_G_PER_MOL, unit="g/mol"),
                Term(name="gas", value=CARBON_DIOXIDE_G_PER_L, unit="g/L"),
            ),
            value=form.g_per_mol
            / (form.carbon_dioxide * CARBON_DIOXIDE_G_PER_MOL)
            * CARBON_DIOXIDE_G_PER_L,
            unit="g/L per volume",
            source=STOICHIOMETRY_SOURCE,
        )
    equivalent = form.g_per_mol / form.carbon_dioxide / (_GLUCOSE.g_per_mol / 2)
    scaled = ("The rule is for glucose; this form gives the same carbon dioxide: our own scaling.",)
    return Working(
        name=f"Sugar per volume, {form.name}",
        formula="rule * equivalent",
        terms=(
            Term(name="rule", value=GLUCOSE_G_PER_L_VOLUME, unit="g glucose/L per volume"),
            Term(name="equivalent", value=equivalent, unit="g per g glucose"),
        ),
        value=GLUCOSE_G_PER_L_VOLUME * equivalent,
        unit="g/L per volume",
        source=BREWING_TEXT_SOURCE,
        notes=() if form is _GLUCOSE else scaled,
    )


def priming_sugar(
    *,
    volumes: float,
    volume_l: float,
    highest_temperature_c: float,
    sugar: Family,
    rule: PrimingRule,
    heavy_bottles: bool = False,
) -> Working:
    """Return the grams of sugar that carbonate a beer.

    Parameters
    ----------
    volumes: carbon dioxide wanted in the bottle.
    volume_l: litres of beer to be bottled.
    highest_temperature_c: the warmest the beer has been since fermentation slowed.
    sugar, rule: which sugar, and how its yield is reckoned.
    heavy_bottles: True when the bottles are known to be rated for more than 4 volumes.

    Raises
    ------
    ValueError: the bottles would not hold it, or the sugar is not one with a known yield.
    """
    positive("carbonation wanted", volumes)
    positive("beer to be bottled", volume_l)
    residual = residual_co2(highest_temperature_c)
    per_volume = sugar_per_volume(sugar, rule)
    missing = max(0.0, volumes - residual.value)
    gassed = (
        f"No sugar: the beer already holds {residual.value:.2f} volumes, and sugar cannot take any "
        "out."
    )
    return Working(
        name="Priming sugar",
        formula="max(0, volumes wanted - residual) * sugar per volume * beer",
        terms=(
            Term(name="volumes wanted", value=volumes, unit="volumes"),
            Term(name="residual", value=residual.value, unit="volumes"),
            Term(name="sugar per volume", value=per_volume.value, unit=per_volume.unit),
            Term(name="beer", value=volume_l, unit="L"),
        ),
        value=missing * per_volume.value * volume_l,
        unit="g",
        source=f"{per_volume.source}; {RESIDUAL_SOURCE}",
        notes=(
            *((gassed,) if missing == 0 else ()),
            *_bottle_notes(volumes, heavy_bottles=heavy_bottles),
        ),
        parts=(residual, per_volume),
    )


def volumes_from(
    *,
    grams: float,
    volume_l: float,
    highest_temperature_c: float,
    sugar: Family,
    rule: PrimingRule,
    heavy_bottles: bool = False,
) -> Working:
    """Return the volumes of carbon dioxide that a weight of priming sugar gives a beer.

    Parameters as in :func:`priming_sugar`, of which this is the inverse; it refuses the same.
    """
    not_negative("priming sugar", grams)
    positive("beer to be bottled", volume_l)
    residual = residual_co2(highest_temperature_c)
    per_volume = sugar_per_volume(sugar, rule)
    volumes = residual.value + grams / (per_volume.value * volume_l)
    return Working(
        name="Carbonation",
        formula="residual + sugar / (sugar per volume * beer)",
        terms=(
            Term(name="residual", value=residual.value, unit="volumes"),
            Term(name="sugar", value=grams, unit="g"),
            Term(name="sugar per volume", value=per_volume.value, unit=per_volume.unit),
            Term(name="beer", value=volume_l, unit="L"),
        ),
        value=volumes,
        unit="volumes",
        source=f"{per_volume.source}; {RESIDUAL_SOURCE}",
        notes=_bottle_notes(volumes, heavy_bottles=heavy_bottles),
        parts=(residual, per_volume),
    )


def _form(sugar: Family) -> PrimingSugar:
    form = PRIMING_SUGARS.get(sugar)
    if form is None:
        known = ", ".join(known.name for known in PRIMING_SUGARS.values())
        kind = sugar.value.replace("_", " ")
        msg = f"what {kind} gives in the bottle is not known; prime with one of: {known}"
        raise ValueError(msg)
    return form


def _bottle_notes(volumes: float, *, heavy_bottles: bool) -> tuple[str, ...]:
    """Return what to know before bottling, or refuse what bottles are not made for."""
    if volumes > BOTTLE_RATING_VOLUMES and not heavy_bottles:
        msg = (
            f"{volumes:.2f} volumes of carbon dioxide burst bottles, which are typically rated for "
            f"{BOTTLE_RATING_VOLUMES:g}; use less sugar, or heavy bottles that are rated for it"
        )
        raise ValueError(msg)
    if volumes <= WARNED_ABOVE_VOLUMES:
        return (FINISHED,)
    return (
        f"{volumes:.2f} volumes are high: use sound bottles rated for it, with room to spare, and "
        "measure the sugar by weight. (Warned above 3, refused above 4 without heavy bottles: our "
        "own limits; bottles are typically rated for 4.)",
        FINISHED,
    )
