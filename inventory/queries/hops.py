"""Alpha acid of hop lots on the day the beer is brewed, with its working.

Ageing starts on the sample day of the newest alpha acid that nothing supersedes. Up to packing, the
places where the lot lay set the temperature and its own packing the storage factor; a lot repacked
from another has lain as that one did until then. From packing to brewing the pouch sets both.

A storage index is a grade, and takes nothing off an alpha acid measured on the lot. Only where the
newest alpha acid is marked as known from the harvest does the newest index since then say what is
left of it, and ageing starts on the day of that index. The first and the last of several indices
give the lot's own rate of loss, in place of its variety's, unless the index did not rise, or it is
not known how warm the lot lay on more than half of the days between. All of this is said in the
notes of the working; :mod:`inventory.ageing.hops` has the reasons.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from boxwort.figures import on_date
from boxwort.working import Term, Working
from inventory.ageing.hops import (
    STORAGE_FACTORS,
    StorageGrade,
    Stretch,
    alpha_after,
    alpha_from_harvest,
    decay_rate,
    lost_since_harvest,
    rate_between,
    storage_grade,
)
from inventory.models import AnalysisKind
from inventory.models.analyses import ALPHA_KINDS
from inventory.queries.lineage import Generation, generations, kin
from inventory.queries.readings import Reading, Readings, method_note, newest, readings_of
from inventory.queries.stays import Stay, Whereabouts, unknown_note, whereabouts_of

USUAL_SPREAD = 0.03
"""One standard deviation relative to alpha, where the analysis gives none."""
SPREAD_NOTE = "The analysis gives no spread; 3 % of the value is taken."
PLANNING_NOTE = "No analysis yet: the planning alpha of the item stands in, and is not aged."
GRADE_ONLY_NOTE = (
    "The index takes nothing off the alpha acid, which was measured on the lot and already holds "
    "this loss."
)
COLDER_NOTE = "If the lot lay colder on those days, its rate is higher than this."
MOST_UNKNOWN = 0.5
"""Share of the days between two indices, ours, beyond which they give no rate."""


@dataclass(frozen=True, kw_only=True)
class Pouch:
    """How hops lie in the kit: temperature in degrees C, and a packing of STORAGE_FACTORS."""

    temperature_c: float
    packing: str


@dataclass(frozen=True, kw_only=True)
class LotAlpha:
    """Alpha acid on brew day, a share; ``spread`` is one standard deviation relative to it.

    ``method`` is that of the analysis it comes from ("" where the planning alpha stands in),
    ``form`` the form of the lot.
    """

    alpha: float
    spread: float
    working: Working
    method: str
    form: str


@dataclass(frozen=True, kw_only=True)
class LotIndex:
    """The newest storage index of a lot: its grade and what was lost since harvest.

    ``rate`` is the lot's own rate of loss, where two indices give one.
    """

    sampled_on: date
    grade: StorageGrade
    working: Working
    rate: Working | None


@dataclass(frozen=True, kw_only=True)
class _Hop:
    """A lot with what its item says, the lots it goes on from, and how each of those is packed."""

    form: str
    reference_form: str
    planning_alpha: float
    usual_rate: float
    life: Sequence[Generation]
    packing: Mapping[int, str]

    def stored(
        self, where: Mapping[int, Whereabouts], start: date, end: date
    ) -> tuple[list[Stretch], list[Stay]]:
        """Return the days from ``start`` up to ``end``, as they age a hop and as they were."""
        stretches: list[Stretch] = []
        lain: list[Stay] = []
        for step in self.life:
            until = end if step.until is None else min(end, step.until)
            stays = where[step.lot_id].stays(start, until)
            lain += stays
            stretches += [_stretch(stay, self.packing[step.lot_id]) for stay in stays]
            start = max(start, until)
        return stretches, lain


@dataclass(frozen=True, kw_only=True)
class _Start:
    """Where ageing starts: alpha acid as is, a share, on a day, and how it is known."""

    on: date
    alpha: float
    spread: float | None
    method: str
    notes: tuple[str, ...]
    parts: tuple[Working, ...] = ()


@dataclass(frozen=True, kw_only=True)
class _Rate:
    """How fast a lot ages, per day loose at 20 C, and where that comes from."""

    per_day: float
    notes: tuple[str, ...] = ()
    parts: tuple[Working, ...] = ()


@dataclass(frozen=True, kw_only=True)
class HopLives:
    """Everything known of hop lots, to ask for their alpha acid on any number of days."""

    hops: Mapping[int, _Hop]
    starts: Mapping[int, _Start]
    rates: Mapping[int, _Rate]
    indices: Mapping[int, LotIndex]
    where: Mapping[int, Whereabouts]

    def on(self, lot_id: int, *, pack_on: date, brew_on: date, pouch: Pouch) -> LotAlpha:
        """Return the alpha acid of a lot on brew day, packed in a pouch on pack day."""
        hop = self.hops[lot_id]
        if lot_id not in self.starts:
            return _planned(hop)
        start, rate = self.starts[lot_id], self.rates[lot_id]
        bulk, lain = hop.stored(self.where, start.on, pack_on)
        in_pouch = Stretch(
            days=max(0, (brew_on - max(pack_on, start.on)).days),
            temperature_c=pouch.temperature_c,
            storage_factor=STORAGE_FACTORS[pouch.packing],
        )
        working = alpha_after(start.alpha, rate.per_day, [*bulk, in_pouch])
        return LotAlpha(
            alpha=working.value / 100,
            spread=USUAL_SPREAD if start.spread is None else start.spread,
            working=replace(
                working,
                notes=(*working.notes, *start.notes, *rate.notes, *unknown_note(lain)),
                parts=(*working.parts, *start.parts, *rate.parts),
            ),
            method=start.method,
            form=hop.form,
        )

    def form(self, lot_id: int) -> str:
        """Return how the hops of a lot are pressed."""
        return self.hops[lot_id].form

    def reference_form(self, lot_id: int) -> str:
        """Return how the item of a lot is usually pressed, which its recipes are written for."""
        return self.hops[lot_id].reference_form


def hop_lives(lot_ids: Iterable[int]) -> HopLives:
    """Return what is known of hop lots; four statements.

    Lots of items without a hop specification are left out.
    """
    hops = _hops(lot_ids)
    lives = {lot_id: hop.life for lot_id, hop in hops.items()}
    readings = readings_of(lives, ALPHA_KINDS)
    where = whereabouts_of({step.lot_id for life in lives.values() for step in life})
    starts = {lot_id: _start(said) for lot_id, said in readings.items()}
    rates = {lot_id: _rate(hop, readings[lot_id], where) for lot_id, hop in hops.items()}
    indices = {lot_id: _index(said, rates[lot_id]) for lot_id, said in readings.items()}
    return HopLives(
        hops=hops,
        starts={lot_id: start for lot_id, start in starts.items() if start},
        rates=rates,
        indices={lot_id: index for lot_id, index in indices.items() if index},
        where=where,
    )


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
    asked = list(lot_ids)
    rows = {
        lot.pk: lot
        for lot in kin(asked).filter(item__hop__isnull=False).select_related("item__hop")
    }
    made = {lot_id: (lot.from_lot_id, lot.begun_on) for lot_id, lot in rows.items()}
    packing = {lot_id: lot.packing or lot.item.hop.packing for lot_id, lot in rows.items()}
    return {
        lot_id: _Hop(
            form=rows[lot_id].form or rows[lot_id].item.hop.form,
            reference_form=rows[lot_id].item.hop.form,
            planning_alpha=rows[lot_id].item.hop.planning_alpha,
            usual_rate=decay_rate(rows[lot_id].item.hop.lost_in_six_months),
            life=generations(lot_id, made),
            packing=packing,
        )
        for lot_id in asked
        if lot_id in rows
    }


def _start(readings: Readings) -> _Start | None:
    alpha = newest(readings, AnalysisKind.ALPHA)
    if alpha is None:
        return None
    moisture = newest(readings, AnalysisKind.MOISTURE)
    start = _Start(
        on=alpha.sampled_on,
        alpha=alpha.as_is(moisture),
        spread=alpha.spread,
        method=alpha.method,
        notes=(
            f"Sampled on {on_date(alpha.sampled_on)}.",
            *_dry_note(alpha, moisture),
            *method_note(alpha.method, alpha.replaced_method),
            *((SPREAD_NOTE,) if alpha.spread is None else ()),
        ),
    )
    return _since_harvest(start, newest(readings, AnalysisKind.STORAGE_INDEX), alpha)


def _since_harvest(start: _Start, index: Reading | None, alpha: Reading) -> _Start:
    """Return where ageing starts of an alpha acid that may be the harvest's."""
    if not alpha.at_harvest:
        return start
    if index is None or index.sampled_on < alpha.sampled_on:
        note = "Known from the harvest, and no storage index since then: it ages from the harvest."
        return replace(start, notes=(*start.notes, note))
    working = alpha_from_harvest(start.alpha, index.value)
    note = (
        f"Known from the harvest: by the storage index of {index.value:g}, "
        f"{working.value:.2f} % was left on {index.sampled_on}, and it ages from that day."
    )
    return replace(
        start,
        on=index.sampled_on,
        alpha=working.value / 100,
        notes=(*start.notes, note),
        parts=(working,),
    )


def _rate(hop: _Hop, readings: Readings, where: Mapping[int, Whereabouts]) -> _Rate:
    usual = _Rate(per_day=hop.usual_rate)
    indices = readings.get(AnalysisKind.STORAGE_INDEX, ())
    if len(indices) < 2:
        return usual
    first, last = indices[0], indices[-1]
    stretches, lain = hop.stored(where, first.sampled_on, last.sampled_on)
    try:
        found = _own_rate(first, last, stretches, lain)
    except ValueError as problem:
        return replace(usual, notes=(f"Its variety's rate of loss is taken: {problem}.",))
    note = (
        f"Its own rate of loss, by storage indices of {first.value:g} on {first.sampled_on} and "
        f"{last.value:g} on {last.sampled_on}, is taken in place of its variety's "
        f"{hop.usual_rate:.2g} per day."
    )
    notes = (note, *method_note(last.method, first.method))
    unsure = unknown_note(lain)
    working = replace(found, notes=(*found.notes, *unsure, *((COLDER_NOTE,) if unsure else ())))
    return _Rate(per_day=found.value, notes=notes, parts=(working,))


def _own_rate(
    first: Reading, last: Reading, stretches: Sequence[Stretch], lain: Sequence[Stay]
) -> Working:
    unknown = sum(stay.days for stay in lain if not stay.known)
    if unknown > MOST_UNKNOWN * (last.sampled_on - first.sampled_on).days:
        msg = f"how warm it lay between the two storage indices is not known for {unknown} days"
        raise ValueError(msg)
    found = rate_between(first.value, last.value, stretches)
    if found.value == 0:
        msg = f"the storage index stayed at {last.value:g}"
        raise ValueError(msg)
    return found


def _index(readings: Readings, rate: _Rate) -> LotIndex | None:
    index, alpha = (
        newest(readings, kind) for kind in (AnalysisKind.STORAGE_INDEX, AnalysisKind.ALPHA)
    )
    if index is None:
        return None
    working = lost_since_harvest(index.value)
    notes = [*working.notes, f"Sampled on {on_date(index.sampled_on)}."]
    if alpha and not alpha.at_harvest:
        notes.append(GRADE_ONLY_NOTE)
    return LotIndex(
        sampled_on=index.sampled_on,
        grade=storage_grade(index.value),
        working=replace(working, notes=tuple(notes)),
        rate=rate.parts[0] if rate.parts else None,
    )


def _stretch(stay: Stay, packing: str) -> Stretch:
    return Stretch(
        days=stay.days,
        temperature_c=stay.temperature_c,
        storage_factor=STORAGE_FACTORS[packing],
    )


def _dry_note(alpha: Reading, moisture: Reading | None) -> tuple[str, ...]:
    if alpha.basis != "dry" or moisture is None:
        return ()
    wet = f"{moisture.value * 100:g} % moisture"
    return (f"Measured on dry matter; put to as is with {wet}.",)


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
    return LotAlpha(
        alpha=hop.planning_alpha, spread=USUAL_SPREAD, working=working, method="", form=hop.form
    )
