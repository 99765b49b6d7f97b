"""The hot side of a brew day in words: the mash by its strike water, and the hop stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from boxwort import figures
from boxwort.quantities import UL_PER_L
from planning.documents.wording import Content, amount, listed
from recipes.brewing.stand import Stand

STRIKE_SCALDS = (
    "Water this hot scalds: pour it slowly, and warm the mash tun with some of it first."
)
WORT_SCALDS = "The wort is still scalding hot."


@dataclass(frozen=True, kw_only=True)
class Step:
    """One step: its title, what to do, and what to beware of ("" for nothing)."""

    title: str
    text: str
    caution: str = ""


def mash_step(content: Content, grain: Sequence[Mapping[str, Any]], units: str) -> Step:
    """Return how the grain is mashed, with the strike water where the method says how thick."""
    celsius = content["mash_temperature_c"]
    at = f" at {figures.temperature(celsius, units)}" if celsius else ""
    minutes = max(line["minutes"] for line in grain) or 60
    figured = content.get("brew_day", {})
    strike, water = figured.get("strike"), figured.get("mash_water")
    rinsed = f"until the kettle holds {amount(content['pre_boil_volume_ul'], 'volume', units)}."
    if not strike or not water:
        return Step(
            title="Mash",
            text=f"Stir {listed(grain, units)} into hot water and hold the mash{at} for {minutes} "
            f"minutes. Then drain the grain and rinse it with hot water {rinsed}",
        )
    grain_c = next(term["value"] for term in strike["terms"] if term["name"] == "grain")
    runnings = figured.get("first_runnings")
    runs_off = f", about {_litres(runnings['value'], units)}," if runnings else ""
    return Step(
        title="Mash",
        text=f"Heat {_litres(water['value'], units)} of water to "
        f"{figures.temperature(strike['value'], units)} and stir in {listed(grain, units)}: grain "
        f"at {figures.temperature(grain_c, units)} brings it to the mash temperature. Hold the "
        f"mash{at} for {minutes} minutes. Drain it{runs_off} and rinse the grain with hot water "
        f"{rinsed}",
        caution=STRIKE_SCALDS,
    )


def stand_steps(
    content: Content, whirlpool: Sequence[Mapping[str, Any]], units: str
) -> Iterator[Step]:
    """Yield the hop stand: as the method declares it, or for as long as its hops say."""
    declared = content.get("stand")
    if declared:
        yield _declared(Stand(**declared), whirlpool, units)
    elif whirlpool:
        minutes = max(line["minutes"] for line in whirlpool)
        yield Step(
            title="Hop stand",
            text=f"Stir in {listed(whirlpool, units)}, put the lid on and let it stand for "
            f"{minutes} minutes before cooling.",
            caution=WORT_SCALDS,
        )


def _declared(stand: Stand, whirlpool: Sequence[Mapping[str, Any]], units: str) -> Step:
    from_c, to_c = (figures.temperature(at, units) for at in (stand.from_c, stand.to_c))
    warmth = f"at {from_c}" if from_c == to_c else f"while it falls evenly from {from_c} to {to_c}"
    added = (
        f"Let the wort stand with the lid on for {stand.minutes:g} minutes, {warmth}.",
        *_additions(stand, whirlpool, units),
        "Then cool it at once: these minutes give bitterness too.",
    )
    return Step(
        title=f"Hop stand: {stand.minutes:g} minutes", text=" ".join(added), caution=WORT_SCALDS
    )


def _additions(stand: Stand, whirlpool: Sequence[Mapping[str, Any]], units: str) -> Iterator[str]:
    """Yield what goes in and when; minutes are counted to the end of the stand, 0 is all of it."""
    left = {line["key"]: min(line["minutes"] or stand.minutes, stand.minutes) for line in whirlpool}
    for minutes in sorted(set(left.values()), reverse=True):
        added = listed([line for line in whirlpool if left[line["key"]] == minutes], units)
        if minutes == stand.minutes:
            yield f"Stir in {added} as it begins."
        else:
            warm = figures.temperature(stand.temperature_c(minutes), units)
            yield f"With {minutes:g} minutes left, at about {warm}, stir in {added}."


def _litres(litres: float, units: str) -> str:
    """Return a volume of water, to a tenth of a litre."""
    return amount(round(litres * 10) * (UL_PER_L // 10), "volume", units)
