"""What a batch's sheet says of brewing it, kept with the sheet so that it prints the same again."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from recipes.models import Kit
from recipes.queries.bills import BillRow
from recipes.queries.brew_day import house_priming_rule, kit_brew_day
from recipes.queries.contents import method_content


def brewing_content(kit: Kit, rows: Sequence[BillRow]) -> dict[str, Any]:
    """Return the hop stand, first wort, carbonation and brew-day figures of a kit.

    Parameters
    ----------
    rows: what is in a box, ``packed`` being what this batch weighs into it.
    """
    content = method_content(kit.method)
    day = kit_brew_day(kit.pk, rows)
    stand = {
        "minutes": content["stand_minutes"],
        "from_c": content["stand_from_c"],
        "to_c": content["stand_to_c"],
    }
    mash = (day.strike, day.mash_water, day.first_runnings)
    strike, water, runnings = (figure and figure.as_json() for figure in mash)
    return {
        "stand": stand if content["stand_minutes"] else None,
        "first_wort_minutes": content["first_wort_minutes"],
        "carbonation_volumes": content["carbonation_volumes"],
        "heavy_bottles_for": day.heavy_bottles_for,
        "priming_rule": house_priming_rule().value,
        "grain_temperature_c": content["grain_temperature_c"],
        "brew_day": {
            "strike": strike,
            "mash_water": water,
            "first_runnings": runnings,
            "priming": [figure.as_json() for figure in day.priming],
            "carbonation": day.carbonation and day.carbonation.as_json(),
        },
    }
