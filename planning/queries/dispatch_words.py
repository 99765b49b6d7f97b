"""What a box says of the yeast that was added to it, in a brewer's words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any

from boxwort.figures import on_date, share
from boxwort.quantities import UL_PER_L, Measure, read_naturally


def yeast_words(part: Mapping[str, Any], brew_on: str, units: str = "metric") -> Iterator[str]:
    """Yield the best use of the yeast of a box, and how to make up for what is missing.

    ``part`` is of the content of a dispatch.
    """
    given = part["yeast"]
    if given["best_by"]:
        yield f"Best pitched by {_day(given['best_by'])}."
    if given["last_on"]:
        yield f"Do not pitch it after {_day(given['last_on'])}."
    if given["pitched"] < given["target"]:
        reached = share(given["pitched"] / given["target"], 0)
        if reached != share(1.0, 0):
            yield (
                f"On {_day(brew_on)} it gives about {reached} of the pitch we aim at: brew "
                f"sooner, or {_ways(given, units)}."
            )


def _ways(given: Mapping[str, Any], units: str) -> str:
    if not given["starter_l"]:
        return "pitch another pack"
    litres = round(given["starter_l"] * UL_PER_L)
    number, unit = read_naturally(litres, Measure.VOLUME, units).split(" ", 1)
    volume = f"{number.rstrip('0').rstrip('.')} {unit}"
    return (
        f"grow it for a day in {volume} of wort of 1.036 to 1.040, boiled and cooled (boiling "
        "wort scalds), or pitch another pack"
    )


def _day(iso: str) -> str:
    return on_date(date.fromisoformat(iso))
