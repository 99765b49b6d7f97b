"""What was measured on lots of grain, extract and sugar, for the figures of a beer made of them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from inventory.models import AnalysisKind
from inventory.models.items import FERMENTABLE_KINDS
from inventory.queries.lineage import generations, kin
from inventory.queries.readings import Readings, newest, readings_of

_MEASURED = (
    AnalysisKind.EXTRACT,
    AnalysisKind.COLOUR,
    AnalysisKind.POWER,
    AnalysisKind.MOISTURE,
)


@dataclass(frozen=True, kw_only=True)
class MeasuredMalt:
    """What a lot as it is gives to wort; None where nobody has measured it on this lot.

    ``points_l_per_kg`` are litre-degrees per kg, colour is in degrees Lovibond, power in degrees
    Lintner.
    """

    points_l_per_kg: float | None
    colour_lovibond: float | None
    power_lintner: float | None


def measured_lots(lot_ids: Iterable[int]) -> dict[int, MeasuredMalt]:
    """Return what was measured on each lot of a fermentable; two statements.

    The newest sample that nothing supersedes counts; what was measured on dry matter is put to the
    lot as it is by its newest moisture. Lots of anything else are left out.
    """
    asked = set(lot_ids)
    rows = kin(asked).filter(item__kind__in=FERMENTABLE_KINDS)
    made = {lot.pk: (lot.from_lot_id, lot.begun_on) for lot in rows}
    lives = {lot_id: generations(lot_id, made) for lot_id in asked & made.keys()}
    return {lot_id: _malt(said) for lot_id, said in readings_of(lives, _MEASURED).items()}


def _malt(readings: Readings) -> MeasuredMalt:
    return MeasuredMalt(
        points_l_per_kg=_as_is(readings, AnalysisKind.EXTRACT),
        colour_lovibond=_as_is(readings, AnalysisKind.COLOUR),
        power_lintner=_as_is(readings, AnalysisKind.POWER),
    )


def _as_is(readings: Readings, kind: AnalysisKind) -> float | None:
    reading = newest(readings, kind)
    return reading.as_is(newest(readings, AnalysisKind.MOISTURE)) if reading else None
