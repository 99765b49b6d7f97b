"""The brew day in words: what to do with what is in the box, and what to beware of.

The order is that of a brew; each step names the ingredients of this kit with their weights. It is
general: what is particular to a beer comes from the notes of its method.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import asdict
from itertools import groupby
from typing import Any

from boxwort import figures
from inventory.models import ItemKind
from planning.documents.hop_pack import hop_pack_steps
from planning.documents.hot_side import Step, mash_step, stand_steps
from planning.documents.priming import BOTTLES, bottle_caution, priming_text
from planning.documents.wording import Content, amount, hops_elsewhere, listed
from recipes.brewing.roles import MethodKind, Use
from recipes.models import Contents

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
    f"for three days. {BOTTLES}",
    "Fermentation gives off carbon dioxide: ventilate the room, and never seal the fermenter.",
    "Cleaners and sanitizers: follow their labels, wear gloves, never mix them.",
    "Rules on brewing alcohol at home, on age and on selling differ by place: follow your local "
    "codes.",
)
HEAT_OFF = "Take the heat off before extract or syrup goes in; stir until it has dissolved."
SCALDS = "Boiling wort scalds and boils over: do not leave it."
_SYRUPS = (ItemKind.EXTRACT, ItemKind.SUGAR)


def brew_steps(content: Content, units: str) -> list[dict[str, str]]:
    """Return the steps of a sheet's kit as plain values."""
    if content.get("contents") == Contents.HOP_PACK:
        return [asdict(step) for step in hop_pack_steps(content, units)]
    lines = [*content["lines"], *hops_elsewhere(content)]
    steps = (
        *(mash_step(content, mashed, units) for mashed in [_used(lines, Use.MASH)] if mashed),
        *_steep(content, _used(lines, Use.STEEP), units),
        *_boil(content, lines, units),
        *_flame_out(lines, units),
        *stand_steps(content, _used(lines, Use.WHIRLPOOL), units),
        Step(
            title="Cool and fill",
            text="Cool the wort to "
            f"{figures.temperature(content['ferment_temperature_c'], units)} in a water bath with "
            "the lid on. Pour it into the sanitized fermenter; if it holds less than "
            f"{amount(content['volume_ul'], 'volume', units)}, top it up with cold, clean water. "
            "Measure the gravity and write it down.",
        ),
        *_ferment(content, lines, units),
        *_bottle(content, _used(lines, Use.PRIMING), units),
    )
    return [asdict(step) for step in steps]


def _used(lines: Sequence[Mapping[str, Any]], *uses: Use) -> list[Mapping[str, Any]]:
    return [line for line in lines if line["use"] in uses]


def _steep(content: Content, grain: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    if not grain:
        return
    minutes = max(line["minutes"] for line in grain) or 20
    hot = f"{figures.temperature(65, units)} to {figures.temperature(70, units)}"
    mashed = any(line["use"] == Use.MASH for line in content["lines"])
    water = "" if mashed else " in the kettle's water"
    yield Step(
        title="Steep the grain",
        text=f"Hang {listed(grain, units)} in a bag{water} at {hot} for {minutes} minutes. Lift "
        "the bag out and let it drip; do not squeeze it.",
    )


def _boil(content: Content, lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    first_wort = _used(lines, Use.FIRST_WORT)
    boiled = _used(lines, Use.BOIL)
    start = content["boil_minutes"]
    at_start = [line for line in boiled if line["minutes"] >= start]
    syrup = [line for line in at_start if line["kind"] in _SYRUPS]
    rest = [line for line in at_start if line not in syrup]
    kettle = amount(content["pre_boil_volume_ul"], "volume", units)
    top_up = content["method"] != MethodKind.EXTRACT or _used(lines, Use.STEEP)
    filled = "Top up the kettle with water to " if top_up else "Fill the kettle with water to "
    stirred = f" Heat off, stir in {listed(syrup, units)}, then heat again." if syrup else ""
    early = f" As it fills, put in {listed(first_wort, units)}: first wort." if first_wort else ""
    hops = f" Once it boils, add {listed(rest, units)}." if rest else ""
    yield Step(
        title=f"Bring to the boil: {start} minutes",
        text=f"{filled}{kettle} and bring it to a rolling boil.{early}{stirred}{hops} "
        f"Start the clock: {start} minutes.",
        caution=f"{HEAT_OFF} {SCALDS}" if syrup else SCALDS,
    )
    later = sorted((ln for ln in boiled if ln not in at_start), key=lambda ln: -ln["minutes"])
    for minutes, group in groupby(later, key=lambda line: line["minutes"]):
        added = list(group)
        unheated = any(line["kind"] in _SYRUPS for line in added)
        yield Step(
            title=f"{minutes} minutes before the end",
            text=f"Add {listed(added, units)}.",
            caution=HEAT_OFF if unheated else "",
        )


def _flame_out(lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    added = _used(lines, Use.FLAME_OUT)
    if added:
        unheated = any(line["kind"] in _SYRUPS for line in added)
        yield Step(
            title="Flame-out",
            text=f"Heat off. Add {listed(added, units)} and stir.",
            caution=HEAT_OFF if unheated else "",
        )


def _ferment(content: Content, lines: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    warm = figures.temperature(content["ferment_temperature_c"], units)
    yeast = [line for line in lines if line["kind"] == ItemKind.YEAST]
    others = [line for line in _used(lines, Use.FERMENTER) if line not in yeast]
    pitched = f"Pitch {listed(yeast, units)}" if yeast else "Pitch your yeast"
    beside = f" Add {listed(others, units)} too." if others else ""
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
            text=f"When fermentation slows down, add {listed(dry, units)} and leave it for four "
            "days.",
        )


def _bottle(content: Content, sugar: Sequence[Mapping[str, Any]], units: str) -> Iterator[Step]:
    yield Step(
        title="Bottle",
        text=f"{priming_text(content, sugar, units)} Keep the bottles at room temperature for two "
        "weeks, then cold.",
        caution=bottle_caution(content),
    )
