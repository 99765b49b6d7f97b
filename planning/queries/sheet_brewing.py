"""What a batch's sheet says of brewing it, kept with the sheet so that it prints the same again."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from recipes.models import Kit
from recipes.queries.bills import BillRow, bill_of
from recipes.queries.brew_day import house_priming_rule, kit_brew_day
from recipes.queries.contents import method_content
from recipes.queries.sub_kits import hop_pack_of


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


def hop_pack_content(kit: Kit, lines: Sequence[Mapping[str, Any]]) -> dict[str, Any] | None:
    """Return the hop pack that a kit's hops come in, with when each goes in; None without one.

    The weights are those of the pack's own sheet, and so are the minutes of an addition whose boil
    time follows its lot.

    Parameters
    ----------
    lines: the lines of the kit's sheet, the pack's among them with the lots that it is taken from.
    """
    pack = hop_pack_of(kit.pk)
    if pack is None:
        return None
    own = next(line for line in lines if line["item_code"] == pack.code)
    return {
        "code": pack.code,
        "name": pack.name,
        "at_dispatch": own["at_dispatch"],
        "lots": [lot["code"] for lot in own["lots"]],
        "lines": [
            {
                "key": row.key,
                "item_code": row.item_code,
                "item_name": row.item_name,
                "kind": row.item_kind,
                "measure": row.measure,
                "use": row.use,
                "minutes": row.minutes,
            }
            for row in bill_of(pack.kit_id)
            if row.role
        ],
    }
