"""The brew day in words: what to do with what is in the box, and what to beware of.

The order is that of a brew; each step names the ingredients of this kit with their weights. It is
general: what is particular to a beer comes from the notes of its method.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict, dataclass
from itertools import groupby
from typing import Any

from boxwort import figures
from inventory.models import ItemKind
from planning.documents.wording import Content, amount
from recipes.brewing.roles import MethodKind, Use

BEFORE = (
    "Read the sheet to its end. You need a kettle, a thermometer, a fermenter with an airlock, a "
    "hydrometer and cleaned bottles.",
    "Clean everything, then sanitize what the cooled wort will touch. Follow the labels of "
    "cleaners and sanitizers, and never mix them.",
    "Keep yeast and hops cold until you use them.",
)
CAUTIONS = (
    "Boiling wort scalds and boils over: stay with it, keep children and pets away, and take the "
    "heat off before extract or syrup goes in.",
    "Over-priming bursts bottles: measure the sugar, bottle only when the gravity has stood still "
    "for three days, and use bottles made for pressure.",
    "Fermentation gives off carbon dioxide: ventilate the room, and never seal the fermenter.",
    "Cleaners and sanitizers: follow their labels, wear gloves, never mix them.",
    "Rules on brewing alcohol at home, on age and on selling differ by place: follow your local "
    "codes.",
)
HEAT_OFF = "Take the heat off before extract or syrup goes in; stir until it has dissolved."
SCALDS = "Boiling wort scalds and boils over: do not leave it."
_SYRUPS = (ItemKind.EXTRACT, ItemKind.SUGAR)


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step: its title, what to do, and what to beware of ("" for nothing)."""

    title: str
    text: str
    caution: str = ""


def brew_steps(content: Content, units: str) -> list[dict[str, str]]:
    """Return the steps of a sheet's kit as plain values."""
    lines = content["lines"]
    steps = (
        *_mash(content, _used(lines, Use.MASH), units),
        *_steep(content, _used(lines, Use.STEEP), units),
        *_boil(content, lines, units),
        *_flame_out(lines, units),
        Step(
            title="Cool and fill",
            text="Cool the wort to "
            f"{figures.temperature(content['ferment_temperature_c'], units)} in a water bath with "
            "the lid on. Pour it into the sanitized fermenter; if it holds less than "
            f"{amount(content['volume_ul'], 'volume', units)}, top it up with cold, clean water. "
            "Measure the gravity and write it down.",
        ),
        *_ferment(content, lines, units),
        *_bottle(_used(lines, Use.PRIMING), units),
    )
    return [asdict(step) for step in steps]


def _used(lines: Sequence[Mapping[str, Any]], *uses: Use) -> list[Mapping[str, Any]]:
    return [line for line in lines if line["use"] in uses]


def _named(lines: Sequence[Mapping[str, Any]], units: str) -> str:
    """Return ingredients with their weights, as a list in a sentence."""
    named = [_one(line, units) for line in lines]
    return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"


def _one(line: Mapping[str, Any], units: str) -> str:
    if line["measure"] == "count":
        return f"{line['per_kit']:,} x {line['item_name']}"
    return f"{amount(line['per_kit'], line['measure'], units)} {line['item_name']}"


def _mash(content: Content, grain: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    if not grain:
        return
    celsius = content["mash_temperature_c"]
    at = f" at {figures.temperature(celsius, units)}" if celsius else ""
    minutes = max(line["minutes"] for line in grain) or 60
    yield Step(
        title="Mash",
        text=f"Stir {_named(grain, units)} into hot water and hold the mash{at} for {minutes} "
        "minutes. Then drain the grain and rinse it with hot water until the kettle holds "
        f"{amount(content['pre_boil_volume_ul'], 'volume', units)}.",
    )


def _steep(content: Content, grain: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    if not grain:
        return
    minutes = max(line["minutes"] for line in grain) or 20
    hot = f"{figures.temperature(65, units)} to {figures.temperature(70, units)}"
    mashed = any(line["use"] == Use.MASH for line in content["lines"])
    water = "" if mashed else " in the kettle's water"
    yield Step(
        title="Steep the grain",
        text=f"Hang {_named(grain, units)} in a bag{water} at {hot} for {minutes} minutes. Lift "
        "the bag out and let it drip; do not squeeze it.",
    )


def _boil(content: Content, lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    boiled = _used(lines, Use.FIRST_WORT, Use.BOIL)
    start = content["boil_minutes"]
    at_start = [ln for ln in boiled if ln["use"] == Use.FIRST_WORT or ln["minutes"] >= start]
    syrup = [line for line in at_start if line["kind"] in _SYRUPS]
    rest = [line for line in at_start if line not in syrup]
    kettle = amount(content["pre_boil_volume_ul"], "volume", units)
    top_up = content["method"] != MethodKind.EXTRACT or _used(lines, Use.STEEP)
    filled = "Top up the kettle with water to " if top_up else "Fill the kettle with water to "
    stirred = f" Heat off, stir in {_named(syrup, units)}, then heat again." if syrup else ""
    hops = f" Once it boils, add {_named(rest, units)}." if rest else ""
    yield Step(
        title=f"Bring to the boil: {start} minutes",
        text=f"{filled}{kettle} and bring it to a rolling boil.{stirred}{hops} "
        f"Start the clock: {start} minutes.",
        caution=f"{HEAT_OFF} {SCALDS}" if syrup else SCALDS,
    )
    later = sorted((ln for ln in boiled if ln not in at_start), key=lambda ln: -ln["minutes"])
    for minutes, group in groupby(later, key=lambda line: line["minutes"]):
        added = list(group)
        unheated = any(line["kind"] in _SYRUPS for line in added)
        yield Step(
            title=f"{minutes} minutes before the end",
            text=f"Add {_named(added, units)}.",
            caution=HEAT_OFF if unheated else "",
        )


def _flame_out(lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    added = _used(lines, Use.FLAME_OUT)
    if added:
        unheated = any(line["kind"] in _SYRUPS for line in added)
        yield Step(
            title="Flame-out",
            text=f"Heat off. Add {_named(added, units)} and stir.",
            caution=HEAT_OFF if unheated else "",
        )
    stand = _used(lines, Use.WHIRLPOOL)
    if stand:
        minutes = max(line["minutes"] for line in stand)
        yield Step(
            title="Hop stand",
            text=f"Stir in {_named(stand, units)}, put the lid on and let it stand for {minutes} "
            "minutes before cooling.",
        )


def _ferment(content: Content, lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    warm = figures.temperature(content["ferment_temperature_c"], units)
    yeast = [line for line in lines if line["kind"] == ItemKind.YEAST]
    others = [line for line in _used(lines, Use.FERMENTER) if line not in yeast]
    pitched = f"Pitch {_named(yeast, units)}" if yeast else "Pitch your yeast"
    beside = f" Add {_named(others, units)} too." if others else ""
    final = content["figures"].get("fg")
    until = f" (about {figures.rounded(final, 3)})" if final else ""
    yield Step(
        title="Pitch the yeast and ferment",
        text=f"{pitched} when the wort is at {warm}.{beside} Close the fermenter with an airlock "
        f"and keep it at {warm}, out of the light, until the gravity stands still for three days"
        f"{until}.",
        caution="Fermentation gives off carbon dioxide: ventilate, and never seal the fermenter.",
    )
    dry = _used(lines, Use.DRY_HOP)
    if dry:
        yield Step(
            title="Dry hop",
            text=f"When fermentation slows down, add {_named(dry, units)} and leave it for four "
            "days.",
        )


def _bottle(sugar: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    primed = (
        f"Dissolve {_named(sugar, units)} in a little boiled water, mix it gently with the beer "
        "and bottle at once."
        if sugar
        else "Prime with sugar measured for the volume you have, and bottle."
    )
    yield Step(
        title="Bottle",
        text=f"{primed} Keep the bottles at room temperature for two weeks, then cold.",
        caution="Over-priming bursts bottles: measure the sugar, and never bottle beer that still "
        "ferments.",
    )
