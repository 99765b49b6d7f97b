"""Bottling in words: how much sugar for the carbonation that is wanted, and what bottles bear."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from boxwort import figures
from boxwort.quantities import MG_PER_G
from boxwort.working import Working
from planning.documents.wording import Content, amount, listed
from recipes.brewing.priming import BOTTLE_RATING_VOLUMES, WARNED_ABOVE_VOLUMES, PrimingRule

_NAMES = {
    "sucrose": "sucrose (table sugar)",
    "glucose, anhydrous": "glucose without water",
    "glucose monohydrate": "glucose monohydrate (corn sugar)",
}
_RULES = {
    PrimingRule.STOICHIOMETRY: "by stoichiometry",
    PrimingRule.BREWING_TEXT: "by the rule of brewing texts",
}
BOTTLES = (
    f"Bottles are typically rated for {BOTTLE_RATING_VOLUMES:g} volumes of carbon dioxide: use "
    "sound bottles made for pressure."
)
BURSTS = (
    "Over-priming bursts bottles: weigh the sugar, and never bottle beer that still ferments: its "
    "gravity must have stood still for three days."
)


def priming_text(content: Content, sugar: Sequence[Mapping[str, Any]], units: str) -> str:
    """Return how the beer is primed.

    Parameters
    ----------
    sugar: the priming sugar in the box, if any.
    """
    wanted = content.get("carbonation_volumes")
    if wanted and wanted > BOTTLE_RATING_VOLUMES and not content.get("heavy_bottles_for"):
        return (
            f"This beer is meant for {_volumes(wanted)} of carbon dioxide, more than bottles are "
            "typically rated for: do not put that into ordinary bottles."
        )
    if sugar:
        return f"{_stirred(listed(sugar, units))}{_carbonation(content)}"
    doses = list(_doses(content, units))
    if not doses:
        return "Prime with sugar weighed for the volume you have, and bottle."
    return f"{' '.join(doses)} {_assumed(content, units)}"


def bottle_caution(content: Content) -> str:
    """Return what to beware of when bottling this beer."""
    heavy_for = content.get("heavy_bottles_for")
    if heavy_for:
        return (
            f"{BURSTS} This beer needs heavy bottles made for {_volumes(heavy_for)} of carbon "
            "dioxide: usual ones burst. Leave no bottle in the warm, and open one early to check."
        )
    wanted = content.get("carbonation_volumes") or 0.0
    lively = (
        f" {_volumes(wanted)} are high: leave no bottle in the warm, and open one early to check."
        if WARNED_ABOVE_VOLUMES < wanted <= BOTTLE_RATING_VOLUMES
        else ""
    )
    return f"{BURSTS} {BOTTLES}{lively}"


def _doses(content: Content, units: str) -> Iterator[str]:
    wanted = content.get("carbonation_volumes")
    figured = [Working.from_json(each) for each in content.get("brew_day", {}).get("priming", ())]
    if not wanted or not figured:
        return
    beer = amount(content["volume_ul"], "volume", units)
    if all(figure.value == 0 for figure in figured):
        yield f"For {_volumes(wanted)} this beer needs no sugar: it holds that much already."
        return
    ways = " or ".join(
        f"{_weight(figure.value, units)} of {_sugar(figure.name)}" for figure in figured
    )
    yield (
        f"For {_volumes(wanted)} of carbon dioxide in {beer} of beer weigh {ways}; of less beer, "
        "that much less."
    )
    yield _stirred("it")


def _weight(grams: float, units: str) -> str:
    """Return a weight of sugar as a kitchen scale shows it."""
    if units == "us":
        return amount(round(grams) * MG_PER_G, "mass", units)
    return figures.with_unit(grams, 0, "g")


def _stirred(what: str) -> str:
    return (
        f"Dissolve {what} in a little boiled water, mix it gently with the beer and bottle at once."
    )


def _sugar(name: str) -> str:
    form = name.partition(", ")[2]
    return _NAMES.get(form, form)


def _assumed(content: Content, units: str) -> str:
    warmest = figures.temperature(content["ferment_temperature_c"], units)
    return (
        f"These weights are {_rule(content)}, and take it that the beer was no warmer than "
        f"{warmest} since fermentation slowed."
    )


def _carbonation(content: Content) -> str:
    figured = content.get("brew_day", {}).get("carbonation")
    if not figured:
        return ""
    return f" It gives about {_volumes(figured['value'])} of carbon dioxide, {_rule(content)}."


def _rule(content: Content) -> str:
    """Return by which rule sugar was reckoned; sheets of before the choice say none."""
    return _RULES[PrimingRule(content.get("priming_rule", PrimingRule.STOICHIOMETRY))]


def _volumes(value: float) -> str:
    return f"{figures.rounded(value, 1)}{figures.NO_BREAK}volumes"
