"""Alpha acid of hop lots on the day the beer is brewed, with its working.

Ageing starts on the sample day of the newest analysis that nothing supersedes. Up to packing, the
places where the lot lay set the temperature and its own packing the storage factor; from packing
to brewing the pouch sets both.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date

from boxwort.working import Term, Working
from inventory.ageing.hops import STORAGE_FACTORS, Stretch, alpha_after, decay_rate
from inventory.models import Analysis, AnalysisKind, Lot
from inventory.queries.stays import Whereabouts, unknown_note, whereabouts_of

USUAL_SPREAD = 0.03
"""One standard deviation relative to alpha, where the analysis gives none."""
SPREAD_NOTE = "The analysis gives no spread; 3 % of the value is taken."
PLANNING_NOTE = "No analysis yet: the planning alpha of the item stands in, and is not aged."


@dataclass(frozen=True, kw_only=True)
class Pouch:
    """How hops lie in the kit: temperature in degrees C, and a packing of STORAGE_FACTORS."""

    temperature_c: float
    packing: str


@dataclass(frozen=True, kw_only=True)
class LotAlpha:
    """Alpha acid on brew day, a share; ``spread`` is one standard deviation relative to it."""

    alpha: float
    spread: float
    working: Working


@dataclass(frozen=True, kw_only=True)
class _Hop:
    packing: str
    planning_alpha: float
    rate: float


@dataclass(frozen=True, kw_only=True)
class _Reading:
    sampled_on: date
    alpha: float
    spread: float | None
    basis: Term | None


@dataclass(frozen=True, kw_only=True)
class HopLives:
    """Everything known of hop lots, to ask for their alpha acid on any number of days."""

    hops: Mapping[int, _Hop]
    readings: Mapping[int, _Reading]
    where: Mapping[int, Whereabouts]

    def on(self, lot_id: int, *, pack_on: date, brew_on: date, pouch: Pouch) -> LotAlpha:
        """Return the alpha acid of a lot on brew day, packed in a pouch on pack day."""
        hop = self.hops[lot_id]
        if lot_id not in self.readings:
            return _planned(hop)
        reading = self.readings[lot_id]
        return _aged(hop, reading, self.where[lot_id], pack_on, brew_on, pouch)


def hop_lives(lot_ids: Iterable[int]) -> HopLives:
    """Return what is known of hop lots; four statements.

    Lots of items without a hop specification are left out.
    """
    hops = _hops(lot_ids)
    return HopLives(hops=hops, readings=_readings(hops), where=whereabouts_of(hops))


def hop_alphas(
    lot_ids: Iterable[int], *, pack_on: date, brew_on: date, pouch: Pouch
) -> dict[int, LotAlpha]:
    """Return the alpha acid of each hop lot on brew day; four statements."""
    lives = hop_lives(lot_ids)
    return {
        lot_id: lives.on(lot_id, pack_on=pack_on, brew_on=brew_on, pouch=pouch)
        for lot_id in lives.hops
    }


def _hops(lot_ids: Iterable[int]) -> dict[int, _Hop]:
    rows = Lot.objects.filter(pk__in=list(lot_ids), item__hop__isnull=False).values_list(
        "pk",
        "packing",
        "item__hop__packing",
        "item__hop__planning_alpha",
        "item__hop__lost_in_six_months",
    )
    return {
        lot_id: _Hop(packing=own or usual, planning_alpha=alpha, rate=decay_rate(lost))
        for lot_id, own, usual, alpha, lost in rows
    }


def _readings(lot_ids: Iterable[int]) -> dict[int, _Reading]:
    """Return the newest alpha reading of each lot, as is, with the moisture it was put to."""
    newest: dict[int, dict[str, Analysis]] = defaultdict(dict)
    rows = Analysis.objects.filter(
        lot__in=list(lot_ids),
        kind__in=[AnalysisKind.ALPHA, AnalysisKind.MOISTURE],
        analysis__isnull=True,
    ).order_by("sampled_on", "pk")
    for row in rows:
        newest[row.lot_id][row.kind] = row
    return {
        lot_id: _reading(kinds[AnalysisKind.ALPHA], kinds.get(AnalysisKind.MOISTURE))
        for lot_id, kinds in newest.items()
        if AnalysisKind.ALPHA in kinds
    }


def _reading(alpha: Analysis, moisture: Analysis | None) -> _Reading:
    wet = moisture.value if alpha.basis == "dry" and moisture else None
    return _Reading(
        sampled_on=alpha.sampled_on,
        alpha=alpha.value if wet is None else alpha.value * (1 - wet),
        spread=alpha.spread,
        basis=None if wet is None else Term(name="moisture", value=wet * 100, unit="%"),
    )


def _aged(
    hop: _Hop,
    reading: _Reading,
    where: Whereabouts,
    pack_on: date,
    brew_on: date,
    pouch: Pouch,
) -> LotAlpha:
    stays = where.stays(reading.sampled_on, pack_on)
    bulk = [
        Stretch(
            days=stay.days,
            temperature_c=stay.temperature_c,
            storage_factor=STORAGE_FACTORS[hop.packing],
        )
        for stay in stays
    ]
    in_pouch = Stretch(
        days=max(0, (brew_on - max(pack_on, reading.sampled_on)).days),
        temperature_c=pouch.temperature_c,
        storage_factor=STORAGE_FACTORS[pouch.packing],
    )
    working = alpha_after(reading.alpha, hop.rate, [*bulk, in_pouch])
    notes = [*working.notes, f"Sampled on {reading.sampled_on}.", *unknown_note(stays)]
    if reading.basis:
        notes.append(
            f"Measured on dry matter; put to as is with {reading.basis.value:g} % moisture."
        )
    if reading.spread is None:
        notes.append(SPREAD_NOTE)
    return LotAlpha(
        alpha=working.value / 100,
        spread=USUAL_SPREAD if reading.spread is None else reading.spread,
        working=replace(working, notes=tuple(notes)),
    )


def _planned(hop: _Hop) -> LotAlpha:
    working = Working(
        name="Alpha acid",
        formula="planning alpha",
        terms=(Term(name="planning alpha", value=hop.planning_alpha * 100, unit="%"),),
        value=hop.planning_alpha * 100,
        unit="%",
        source="the item's specification",
        notes=(PLANNING_NOTE, SPREAD_NOTE),
    )
    return LotAlpha(alpha=hop.planning_alpha, spread=USUAL_SPREAD, working=working)
