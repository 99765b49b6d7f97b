"""Life left in yeast lots on a day, with its working.

Liquid yeast dies by the rule its strain names, from the newest viability reading or else from the
day on the pack. Dry yeast loses activity by how warm it lay.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from boxwort.working import Working
from inventory.ageing.yeast import HOTTEST_C, DryStretch, ViabilityRule, dry_activity, viability
from inventory.models import Analysis, AnalysisKind, Lot, YeastForm
from inventory.queries.stays import Whereabouts, unknown_note, whereabouts_of

NO_DATE_NOTE = "The pack names no date; the day of receipt is taken, and it may be older."


@dataclass(frozen=True, kw_only=True)
class LotViability:
    """Living share of a pack, and what a pack held when full: cells (liquid) or grams (dry).

    ``fill`` is what a pack of this lot held, as a share of what its specification says;
    ``target_share`` and ``floor_share`` are the strain's, shares of the pitch asked for.
    """

    form: str
    share: float
    fill: float
    cells_per_pack: float
    pack_grams: float
    target_share: float
    floor_share: float
    working: Working


@dataclass(frozen=True, kw_only=True)
class _Yeast:
    form: str
    rule: ViabilityRule
    cells_per_pack: float
    pack_grams: float
    target_share: float
    floor_share: float
    packaged_on: date | None
    received_on: date

    @property
    def born_on(self) -> date:
        return self.packaged_on or self.received_on


@dataclass(frozen=True, kw_only=True)
class YeastLives:
    """Everything known of yeast lots, to ask for the life left on any number of days."""

    yeasts: Mapping[int, _Yeast]
    readings: Mapping[int, dict[str, Analysis]]
    where: Mapping[int, Whereabouts]

    def on(self, lot_id: int, day: date) -> LotViability:
        """Return the life left in a lot on a day, as it lies now from today on."""
        readings = self.readings.get(lot_id, {})
        return _of_lot(self.yeasts[lot_id], readings, self.where[lot_id], day)


def yeast_lives(lot_ids: Iterable[int]) -> YeastLives:
    """Return what is known of yeast lots; four statements.

    Lots of items without a yeast specification are left out.
    """
    yeasts = _yeasts(lot_ids)
    return YeastLives(yeasts=yeasts, readings=_readings(yeasts), where=whereabouts_of(yeasts))


def yeast_viabilities(lot_ids: Iterable[int], on: date) -> dict[int, LotViability]:
    """Return the life left in each yeast lot on a day; four statements."""
    lives = yeast_lives(lot_ids)
    return {lot_id: lives.on(lot_id, on) for lot_id in lives.yeasts}


def _yeasts(lot_ids: Iterable[int]) -> dict[int, _Yeast]:
    rows = Lot.objects.filter(pk__in=list(lot_ids), item__yeast__isnull=False).values_list(
        "pk",
        "item__yeast__form",
        "item__yeast__viability_rule",
        "item__yeast__cells_per_pack",
        "item__yeast__pack_grams",
        "item__yeast__target_share",
        "item__yeast__floor_share",
        "packaged_on",
        "received_on",
    )
    return {
        lot_id: _Yeast(
            form=form,
            rule=ViabilityRule(rule),
            cells_per_pack=cells,
            pack_grams=grams,
            target_share=target,
            floor_share=floor,
            packaged_on=packaged_on,
            received_on=received_on,
        )
        for lot_id, form, rule, cells, grams, target, floor, packaged_on, received_on in rows
    }


def _readings(lot_ids: Iterable[int]) -> dict[int, dict[str, Analysis]]:
    newest: dict[int, dict[str, Analysis]] = defaultdict(dict)
    rows = Analysis.objects.filter(
        lot__in=list(lot_ids),
        kind__in=[AnalysisKind.CELLS, AnalysisKind.VIABILITY],
        analysis__isnull=True,
    ).order_by("sampled_on", "pk")
    for row in rows:
        newest[row.lot_id][row.kind] = row
    return newest


def _of_lot(
    yeast: _Yeast, readings: dict[str, Analysis], where: Whereabouts, on: date
) -> LotViability:
    read = readings.get(AnalysisKind.VIABILITY)
    start = read.sampled_on if read else yeast.born_on
    at_start = read.value if read else 1.0
    if yeast.form == YeastForm.LIQUID:
        working = viability(yeast.rule, max(0, (on - start).days), at_packaging=at_start)
        share = working.value / 100
    else:
        working = _dry(where, start, on)
        share = at_start * working.value / 100
    counted = readings.get(AnalysisKind.CELLS)
    cells = counted.value if counted else yeast.cells_per_pack
    return LotViability(
        form=yeast.form,
        share=share,
        fill=cells / yeast.cells_per_pack if yeast.form == YeastForm.LIQUID else 1.0,
        cells_per_pack=cells,
        pack_grams=yeast.pack_grams,
        target_share=yeast.target_share,
        floor_share=yeast.floor_share,
        working=_noted(working, yeast, read),
    )


def _dry(where: Whereabouts, start: date, on: date) -> Working:
    stays = where.stays(start, on)
    stretches = [
        DryStretch(days=stay.days, temperature_c=min(stay.temperature_c, HOTTEST_C))
        for stay in stays
    ]
    working = dry_activity(stretches)
    return replace(working, notes=(*working.notes, *unknown_note(stays)))


def _noted(working: Working, yeast: _Yeast, read: Analysis | None) -> Working:
    notes = list(working.notes)
    if read:
        notes.append(f"Counted on {read.sampled_on}: {read.value * 100:g} % viable then.")
    elif yeast.packaged_on is None:
        notes.append(NO_DATE_NOTE)
    return replace(working, notes=tuple(notes))
