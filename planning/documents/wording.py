"""Figures, dates and uses of a sheet's content as the papers write them."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from boxwort import figures
from boxwort.quantities import Measure, natural_unit, read_naturally, shown
from inventory.models import ItemKind
from recipes.brewing.roles import Use

Content = Mapping[str, Any]
"""The JSON of a sheet revision."""

_FINE_DECIMALS = {"kg": 3, "g": 1, "lb": 3, "oz": 2}


def amount(quantity: int, measure: str, units: str = "metric") -> str:
    """Return a quantity with its unit; volumes without idle zeros.

    >>> amount(23_000_000, "volume").replace(figures.NO_BREAK, " ")
    '23 L'
    >>> amount(1, "count").replace(figures.NO_BREAK, " ")
    '1 each'
    """
    if measure == Measure.COUNT:
        return f"{quantity:,}{figures.NO_BREAK}each"
    if measure == Measure.VOLUME:
        number, unit = read_naturally(quantity, Measure.VOLUME, units).split(" ", 1)
        return f"{number.rstrip('0').rstrip('.')}{figures.NO_BREAK}{unit}"
    return read_naturally(quantity, Measure(measure), units).replace(" ", figures.NO_BREAK)


def weight_like(quantity: int, like: int, units: str = "metric") -> str:
    """Return a mass in the unit another one is read in, so that a column has one unit.

    >>> weight_like(500_000, 4_500_000).replace(figures.NO_BREAK, " ")
    '0.500 kg'
    """
    unit = natural_unit(like, Measure.MASS, units)
    return shown(quantity, unit, decimals=_FINE_DECIMALS[unit]).replace(" ", figures.NO_BREAK)


def day(iso: str | None) -> str:
    """Return a day of the content as people read it; nothing for none."""
    return figures.on_date(date.fromisoformat(iso)) if iso else ""


def when(line: Mapping[str, Any]) -> str:
    """Return when a line goes in, in the brewer's words."""
    minutes = int(line["minutes"])
    timed = f", {minutes}{figures.NO_BREAK}min" if minutes else ""
    words = {
        Use.MASH: "Mash",
        Use.STEEP: f"Steep{timed}",
        Use.FIRST_WORT: "First wort",
        Use.BOIL: f"Boil, last {minutes}{figures.NO_BREAK}min" if minutes else "End of boil",
        Use.FLAME_OUT: "Flame-out",
        Use.WHIRLPOOL: f"Hop stand{timed}",
        Use.DRY_HOP: "Dry hop",
        Use.FERMENTER: "Fermenter",
        Use.PRIMING: "Bottling",
    }
    return words.get(line["use"], "")


def listed(lines: Sequence[Mapping[str, Any]], units: str) -> str:
    """Return ingredients with their weights, as a list in a sentence."""
    named = [_one(line, units) for line in lines]
    return named[0] if len(named) == 1 else f"{', '.join(named[:-1])} and {named[-1]}"


def hops_elsewhere(content: Content) -> list[Mapping[str, Any]]:
    """Return the hops that come in a hop pack of their own; the first sheets knew of none."""
    return list((content.get("hop_pack") or {}).get("lines", ()))


def hop_pack_said(content: Content) -> str:
    """Return the hop pack of a box in words, with its lots as far as they are known; or nothing."""
    pack = content.get("hop_pack")
    if not pack:
        return ""
    lots = " or ".join(pack["lots"])
    return f"hop pack {pack['name']}, {f'lot {lots}' if lots else 'added when the box left'}"


def _one(line: Mapping[str, Any], units: str) -> str:
    if "per_kit" not in line:
        return f"{line['item_name']} from the hop pack"
    if line["measure"] == "count":
        return f"{line['per_kit']:,} x {line['item_name']}"
    return f"{amount(line['per_kit'], line['measure'], units)} {line['item_name']}"


def stands_in(line: Mapping[str, Any]) -> str:
    """Return what a substitute stands in for and who approved it; nothing for what is no one."""
    if not line.get("stands_for"):
        return ""
    approved = f", approved by {line['approved_by']}" if line.get("approved_by") else ""
    return f"Stands in for {line['stands_for']}{approved}"


def is_hop(line: Mapping[str, Any]) -> bool:
    """Return whether a line is a hop addition."""
    return bool(line["kind"] == ItemKind.HOP)


def lot_rows(line: Mapping[str, Any]) -> list[dict[str, str]]:
    """Return the lots of a line, each with what the whole batch takes of it."""
    return [
        {
            "code": lot["code"],
            "quantity": amount(lot["quantity"], line["measure"]),
            "best_before": day(lot["best_before_on"]),
        }
        for lot in line["lots"]
    ]
