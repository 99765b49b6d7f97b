"""Dispatch zones: written, changed and taken out of use."""

from __future__ import annotations

from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.days_of_year import is_day_of_year
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.weekdays import EVERY_DAY
from inventory.models import Item
from inventory.services.entries import check_code, check_text, check_within
from inventory.services.rows import write_row
from planning.models import DispatchZone

LONGEST_TRANSIT = 60
MOST_ICE_PACKS = 100
TEMPERATURES = (-40.0, 60.0)


@service
def write_zone(
    *,
    by: User,
    code: str,
    name: str,
    transit_days: int = 2,
    ship_weekdays: str = EVERY_DAY,
    temperature_c: float = 15.0,
    warm_temperature_c: float = 25.0,
    warm_from: int | None = None,
    warm_until: int | None = None,
    ice_item: Item | None = None,
    ice_packs: int = 0,
    active: bool | None = None,
    expected: int | None = None,
) -> DispatchZone:
    """Make or change a zone; what is not ``active`` takes no new orders.

    Without ``active`` a zone stays in use or not, as it was. The warm season runs from
    ``warm_from`` to ``warm_until``, each month x 100 + day.

    Raises
    ------
    Refusal: ``zone-name-missing``, ``zone-days-missing``, ``zone-season-not-whole``,
        ``day-of-year-not-known``, ``zone-ice-without-item``, ``ice-not-counted``, a figure that is
        not possible, or changed meanwhile.
    """
    check_code(code, "a zone")
    check_text(name, 80, "The name")
    check_within(transit_days, (0, LONGEST_TRANSIT), "days on the way")
    check_within(temperature_c, TEMPERATURES, "temperature on the way")
    check_within(warm_temperature_c, TEMPERATURES, "temperature in the warm season")
    check_within(ice_packs, (0, MOST_ICE_PACKS), "number of ice packs")
    _check_words(name, ship_weekdays)
    _check_season(warm_from, warm_until)
    _check_ice(ice_item, ice_packs)
    zone = DispatchZone.objects.filter(code=code).first() or DispatchZone(code=code)
    values: dict[str, Any] = {
        "name": name,
        "transit_days": transit_days,
        "ship_weekdays": ship_weekdays,
        "temperature_c": temperature_c,
        "warm_temperature_c": warm_temperature_c,
        "warm_from": warm_from,
        "warm_until": warm_until,
        "ice_item": ice_item,
        "ice_packs": ice_packs,
    }
    if active is not None:
        values["active"] = active
    write_row(by=by, row=zone, values=values, expected=expected)
    return zone


def _check_words(name: str, ship_weekdays: str) -> None:
    if not name.strip():
        raise Refusal("zone-name-missing", "The zone has no name.", "Write what people call it.")
    if not ship_weekdays:
        raise Refusal(
            "zone-days-missing",
            f"Nothing would ever leave for {name}.",
            "Give at least one weekday.",
        )


def _check_season(warm_from: int | None, warm_until: int | None) -> None:
    if (warm_from is None) != (warm_until is None):
        raise Refusal(
            "zone-season-not-whole",
            "The warm season has only one of its two days.",
            "Give its first and its last day, or neither.",
        )
    for day in (warm_from, warm_until):
        if day is not None and not is_day_of_year(day):
            raise Refusal(
                "day-of-year-not-known",
                f"No year has a day {day % 100} of month {day // 100}.",
                "Give a day and a month, such as 15 May.",
            )


def _check_ice(ice_item: Item | None, ice_packs: int) -> None:
    if ice_packs and ice_item is None:
        raise Refusal(
            "zone-ice-without-item",
            f"Each box is to carry {ice_packs} ice packs, and nothing says which.",
            "Name the ice pack, or give none.",
        )
    if ice_item is not None and ice_item.measure != Measure.COUNT:
        raise Refusal(
            "ice-not-counted",
            f"{ice_item.code} is kept by {ice_item.measure}.",
            "Choose an ice pack that is kept by the piece.",
        )


@service
def begin_zone(*, by: User, code: str, **facts: Any) -> DispatchZone:
    """Make a zone that is not there yet, by the facts that :func:`write_zone` takes.

    Raises
    ------
    Refusal: ``zone-code-taken``, or what :func:`write_zone` refuses.
    """
    if DispatchZone.objects.filter(code=code).exists():
        raise Refusal(
            "zone-code-taken",
            f"There is already a zone {code}.",
            "Give the new zone a code of its own, or change that one.",
        )
    return write_zone(by=by, code=code, **facts)
