"""Life left in yeast lots on a day, with its working.

Liquid yeast dies by the rule its strain names, from the newest viability reading or else from the
day on the pack; dry yeast loses activity. Both by how warm they lay: in our places until the pack
day, then on the way to the customer, then on the customer's shelf. Before a liquid pack reached us
it is taken to have been refrigerated, as its rule presumes. A lot that goes on from another has
lain as that one did until it was made.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from boxwort.accounts.models import SiteSettings
from boxwort.figures import on_date
from boxwort.working import Working
from inventory.ageing.yeast import (
    HOTTEST_C,
    HOTTEST_LIQUID_C,
    REFRIGERATED_C,
    DryStretch,
    LiquidStretch,
    ViabilityRule,
    dry_activity,
    viability_after,
)
from inventory.models import AnalysisKind, Lot, YeastForm
from inventory.queries.lineage import Generation, generations, kin
from inventory.queries.readings import Reading, Readings, newest, readings_of
from inventory.queries.stays import Stay, Whereabouts, unknown_note, whereabouts_of

NO_DATE_NOTE = "The pack names no date; the day of receipt is taken, and it may be older."
REFRIGERATED_NOTE = (
    "Before it reached us, {days} days, it is taken as refrigerated, as its rule presumes."
)
TOO_HOT_NOTE = (
    f"Days hotter than {HOTTEST_LIQUID_C:g} C count as {HOTTEST_LIQUID_C:g} C, which is too kind: "
    "have such yeast counted, or throw it out."
)
STORAGE, TRANSIT, SHELF = "Storage", "Transit", "Customer's shelf"
_READ = (AnalysisKind.CELLS, AnalysisKind.VIABILITY)


@dataclass(frozen=True, kw_only=True)
class Journey:
    """What yeast goes through once its kit is packed: the way to the customer, then a shelf there.

    A journey shorter than ``transit_days`` is transit all the way.
    """

    transit_days: int
    transit_temperature_c: float
    shelf_temperature_c: float

    def stretches(self, days: int) -> list[_Stretch]:
        """Return the parts of a journey of so many days."""
        transit = min(days, self.transit_days)
        parts = (
            _Stretch(name=TRANSIT, days=transit, temperature_c=self.transit_temperature_c),
            _Stretch(name=SHELF, days=days - transit, temperature_c=self.shelf_temperature_c),
        )
        return [part for part in parts if part.days]


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
class _Stretch:
    """Days of a lot's life at one temperature, and where they were."""

    name: str
    days: int
    temperature_c: float


@dataclass(frozen=True, kw_only=True)
class _Yeast:
    """A lot with its strain, and the lots it goes on from; ``arrived_on`` is the first of them."""

    form: str
    rule: ViabilityRule
    cells_per_pack: float
    pack_grams: float
    target_share: float
    floor_share: float
    packaged_on: date | None
    arrived_on: date
    life: Sequence[Generation]

    @property
    def born_on(self) -> date:
        return self.packaged_on or self.arrived_on

    def lain(self, where: Mapping[int, Whereabouts], start: date, end: date) -> list[Stay]:
        """Return the days from ``start`` up to ``end`` in our places."""
        stays: list[Stay] = []
        for step in self.life:
            until = end if step.until is None else min(end, step.until)
            stays += where[step.lot_id].stays(start, until)
            start = max(start, until)
        return stays


@dataclass(frozen=True, kw_only=True)
class YeastLives:
    """Everything known of yeast lots, to ask for the life left on any number of days."""

    yeasts: Mapping[int, _Yeast]
    readings: Mapping[int, Readings]
    where: Mapping[int, Whereabouts]

    def on(self, lot_id: int, day: date) -> LotViability:
        """Return the life left in a lot on a day, as it lies now from today on."""
        return self._aged(lot_id, day, ())

    def pitched_on(
        self, lot_id: int, pack_on: date, pitch_on: date, journey: Journey
    ) -> LotViability:
        """Return the life left on pitch day in a lot that lies here until it is packed.

        Of a lot packaged or counted after the pack day, the journey starts on that day.
        """
        left_on = max(self._start(lot_id), min(pack_on, pitch_on))
        return self._aged(lot_id, left_on, journey.stretches(max(0, (pitch_on - left_on).days)))

    def _start(self, lot_id: int) -> date:
        read = newest(self.readings[lot_id], AnalysisKind.VIABILITY)
        return read.sampled_on if read else self.yeasts[lot_id].born_on

    def _aged(self, lot_id: int, left_on: date, travelled: Sequence[_Stretch]) -> LotViability:
        yeast, readings = self.yeasts[lot_id], self.readings[lot_id]
        read = newest(readings, AnalysisKind.VIABILITY)
        counted = newest(readings, AnalysisKind.CELLS)
        liquid = yeast.form == YeastForm.LIQUID
        aged = _liquid if liquid else _dry
        working = aged(
            yeast, self.where, self._start(lot_id), left_on, travelled, read.value if read else 1.0
        )
        cells = counted.value if counted else yeast.cells_per_pack
        return LotViability(
            form=yeast.form,
            share=working.value / 100,
            fill=cells / yeast.cells_per_pack if liquid else 1.0,
            cells_per_pack=cells,
            pack_grams=yeast.pack_grams,
            target_share=yeast.target_share,
            floor_share=yeast.floor_share,
            working=_noted(working, yeast, read),
        )


def journey(site: SiteSettings) -> Journey:
    """Return the journey that the site's settings describe."""
    return Journey(
        transit_days=site.transit_days,
        transit_temperature_c=site.transit_temperature_c,
        shelf_temperature_c=site.yeast_shelf_temperature_c,
    )


def yeast_lives(lot_ids: Iterable[int]) -> YeastLives:
    """Return what is known of yeast lots; four statements.

    Lots of items without a yeast specification are left out.
    """
    yeasts = _yeasts(lot_ids)
    lives = {lot_id: yeast.life for lot_id, yeast in yeasts.items()}
    return YeastLives(
        yeasts=yeasts,
        readings=readings_of(lives, _READ),
        where=whereabouts_of({step.lot_id for life in lives.values() for step in life}),
    )


def _yeasts(lot_ids: Iterable[int]) -> dict[int, _Yeast]:
    asked = list(lot_ids)
    known = kin(asked).filter(item__yeast__isnull=False).select_related("item__yeast")
    rows = {lot.pk: lot for lot in known}
    made = {lot_id: (lot.from_lot_id, lot.begun_on) for lot_id, lot in rows.items()}
    lives = {lot_id: generations(lot_id, made) for lot_id in asked if lot_id in rows}
    return {
        lot_id: _yeast(rows[lot_id], rows[life[0].lot_id].received_on, life)
        for lot_id, life in lives.items()
    }


def _yeast(lot: Lot, arrived_on: date, life: Sequence[Generation]) -> _Yeast:
    spec = lot.item.yeast
    return _Yeast(
        form=spec.form,
        rule=ViabilityRule(spec.viability_rule),
        cells_per_pack=spec.cells_per_pack,
        pack_grams=spec.pack_grams,
        target_share=spec.target_share,
        floor_share=spec.floor_share,
        packaged_on=lot.packaged_on,
        arrived_on=arrived_on,
        life=life,
    )


def _liquid(
    yeast: _Yeast,
    where: Mapping[int, Whereabouts],
    start: date,
    left_on: date,
    travelled: Sequence[_Stretch],
    at_start: float,
) -> Working:
    arrived_on = min(left_on, max(start, yeast.arrived_on))
    before = (arrived_on - start).days
    stays = yeast.lain(where, arrived_on, left_on)
    lain = [_Stretch(name="Before it reached us", days=before, temperature_c=REFRIGERATED_C)]
    lain += _stored(stays)
    working = viability_after(
        yeast.rule,
        [
            LiquidStretch(
                name=part.name,
                days=part.days,
                temperature_c=min(part.temperature_c, HOTTEST_LIQUID_C),
            )
            for part in (*lain, *travelled)
            if part.days > 0
        ],
        at_start=at_start,
    )
    notes = [*working.notes, *unknown_note(stays)]
    if any(stay.temperature_c > HOTTEST_LIQUID_C for stay in stays):
        notes.append(TOO_HOT_NOTE)
    if before > 0:
        notes.append(REFRIGERATED_NOTE.format(days=before))
    return replace(working, notes=tuple(notes))


def _dry(
    yeast: _Yeast,
    where: Mapping[int, Whereabouts],
    start: date,
    left_on: date,
    travelled: Sequence[_Stretch],
    at_start: float,
) -> Working:
    stays = yeast.lain(where, start, left_on)
    working = dry_activity(
        [
            DryStretch(
                name=part.name, days=part.days, temperature_c=min(part.temperature_c, HOTTEST_C)
            )
            for part in (*_stored(stays), *travelled)
        ],
        at_start,
    )
    return replace(working, notes=(*working.notes, *unknown_note(stays)))


def _stored(stays: Iterable[Stay]) -> list[_Stretch]:
    return [
        _Stretch(name=STORAGE, days=stay.days, temperature_c=stay.temperature_c) for stay in stays
    ]


def _noted(working: Working, yeast: _Yeast, read: Reading | None) -> Working:
    notes = list(working.notes)
    if read:
        notes.append(f"Counted on {on_date(read.sampled_on)}: {read.value * 100:g} % viable then.")
    elif yeast.packaged_on is None:
        notes.append(NO_DATE_NOTE)
    return replace(working, notes=tuple(notes))
