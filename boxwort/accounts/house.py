"""The house rules: the producer, how kits are packed, and how they travel."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Any

from boxwort.accounts.models import (
    PACKING_CHOICES,
    PRIMING_RULE_CHOICES,
    WEEKDAYS,
    SiteSettings,
    User,
)
from boxwort.accounts.services import change_version, service
from boxwort.errors import Refusal

#: What each number is called, its unit, and the least and the most that a house could mean.
LIMITS: dict[str, tuple[str, str, float, float]] = {
    "pouch_resolution_mg": ("the step of the pouch scale", "mg", 1, 100_000),
    "scale_division_mg": ("the division of the scale", "mg", 1, 100_000),
    "minimum_batch_kits": ("the smallest batch", "kits", 1, 10_000),
    "pouch_temperature_c": ("the temperature of a pouch", "°C", -30, 50),
    "form_factor_pellet": ("the utilisation of pellets", "", 0.5, 1.5),
    "form_factor_cone": ("the utilisation of whole cones", "", 0.5, 1.5),
    "form_factor_plug": ("the utilisation of plugs", "", 0.5, 1.5),
    "transit_days": ("the days on the way", "days", 0, 60),
    "transit_temperature_c": ("the temperature on the way", "°C", -30, 40),
    "yeast_shelf_temperature_c": ("the temperature of the customer's yeast", "°C", -30, 40),
    "starter_billion_per_l": ("the cells that a litre of starter grows", "billion", 1, 1000),
    "most_multiple": ("the most that a hop may weigh of its reference", "times", 1, 10),
    "kits_per_day": ("the most that the bench packs in a day", "kits", 1, 100_000),
    "pack_lead_days": ("the time from packing to leaving", "days", 0, 60),
    "horizon_weeks": ("the weeks that are planned ahead", "weeks", 1, 104),
    "consume_back_weeks": ("the weeks before an order whose forecast it uses", "weeks", 0, 26),
    "consume_forward_weeks": ("the weeks after an order whose forecast it uses", "weeks", 0, 26),
    "holding_share": ("the cost of keeping stock for a year", "%", 0, 100),
    "forecast_spread": ("the usual error of a forecast", "%", 0, 200),
    "slow_days": ("the days after which stock is slow", "days", 1, 3650),
}
#: Shares that people read and write in per cent.
SHARES = ("holding_share", "forecast_spread")
_MAY_BE_EMPTY = ("kits_per_day",)
_LONGEST_PRODUCER = 80


@service
def change_house(*, by: User, expected: int, settings: Mapping[str, Any]) -> SiteSettings:
    """Change some of the site's settings; what is named and differs is changed.

    Raises
    ------
    Refusal: ``setting-impossible``, ``scale-coarser-than-pouch``, or ``changed-by-someone-else``.
    """
    site = SiteSettings.objects.select_for_update().get(pk=1)
    for name, value in settings.items():
        _check(name, value)
    changes = {name: value for name, value in settings.items() if getattr(site, name) != value}
    as_they_will_be = {
        name: changes.get(name, getattr(site, name))
        for name in ("pouch_resolution_mg", "scale_division_mg")
    }
    if as_they_will_be["pouch_resolution_mg"] < as_they_will_be["scale_division_mg"]:
        raise Refusal(
            "scale-coarser-than-pouch",
            "Pouches would be weighed to a finer step than the scale shows.",
            "Make the step of pouches at least one division of the scale.",
        )
    if changes or expected != site.version:
        change_version(
            by=by, thing=site, expected=expected, action="write-settings", changes=changes
        )
    return site


def _check(name: str, value: Any) -> None:
    if value is None and name in _MAY_BE_EMPTY:
        return
    fits, told = _limited(name, value) if name in LIMITS else _worded(name, value)
    if not fits:
        what_happened, remedy = told
        raise Refusal("setting-impossible", what_happened, remedy)


def _limited(name: str, value: Any) -> tuple[bool, tuple[str, str]]:
    """Return whether a number is within its limits, and what to say where it is not."""
    what, unit, least, most = LIMITS[name]
    shown = value * 100 if name in SHARES else value
    told = (
        f"{shown:g} {unit}".strip() + f" cannot be {what}.",
        f"Write {least:g} to {most:g} {unit}".strip() + ".",
    )
    return bool(least <= shown <= most), told


def _worded(name: str, value: Any) -> tuple[bool, tuple[str, str]]:
    """Return the same for what is no number."""
    if name == "pouch_packing":
        told = (f"Nothing is packed {value!r}.", "Choose one of the packings.")
        fits = value in dict(PACKING_CHOICES)
    elif name == "priming_rule":
        told = (f"Nobody primes by {value!r}.", "Choose one of the rules of priming.")
        fits = value in dict(PRIMING_RULE_CHOICES)
    elif name == "working_weekdays":
        told = ("The house would never work.", "Give at least one weekday.")
        fits = bool(value) and re.fullmatch(WEEKDAYS, value) is not None
    elif name == "currency":
        told = (
            f"{value!r} is no code of a currency.",
            "Write three capital letters, such as EUR.",
        )
        fits = len(value) == 3 and value.isalpha() and value.isupper()
    else:
        told = (
            "The producer has no name, or one too long for a label.",
            f"Write a name of at most {_LONGEST_PRODUCER} characters.",
        )
        fits = name == "producer" and 0 < len(value.strip()) <= _LONGEST_PRODUCER
    return fits, told
