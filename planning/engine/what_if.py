"""A plan under other circumstances: the same input with some of it changed.

Nothing real is touched: :func:`changed` returns another input, which is planned as the real one is.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import date

from planning.engine.plan_input import DAYS_A_WEEK, PlanInput, PlanLot


@dataclass(frozen=True, kw_only=True)
class OtherDemand:
    """Another forecast of a kit: in one week from its Monday, or in all from today's on.

    ``kits`` is the forecast of each week; without it the forecast is taken ``times`` as it stands,
    rounded to whole kits.
    """

    kit_id: int
    week_on: date | None = None
    kits: int | None = None
    times: float = 1.0


@dataclass(frozen=True, kw_only=True)
class OtherLotDate:
    """Another best-before day of a lot."""

    lot_id: int
    last_on: date


@dataclass(frozen=True, kw_only=True)
class OtherLotAlpha:
    """Another alpha acid of a hop lot today, a share, as it would be measured in its own form."""

    lot_id: int
    alpha: float


@dataclass(frozen=True, kw_only=True)
class OtherLeadTime:
    """Another lead time of everything a supplier sells, in days as the supplier counts them."""

    supplier_id: int
    lead_days: int


Change = OtherDemand | OtherLotDate | OtherLotAlpha | OtherLeadTime


def changed(given: PlanInput, changes: Iterable[Change]) -> PlanInput:
    """Return the input with all changes made, one after another.

    A change of what the plan does not know (a lot used up since) changes nothing.
    """
    for change in changes:
        match change:
            case OtherDemand():
                given = _other_demand(given, change)
            case OtherLotDate() | OtherLotAlpha():
                given = _other_lots(given, change)
            case OtherLeadTime():
                given = _other_lead_time(given, change)
    return given


def _other_demand(given: PlanInput, change: OtherDemand) -> PlanInput:
    kits = [place for place, kit in enumerate(given.kits) if kit.kit_id == change.kit_id]
    forecast = given.forecast.copy()
    this_week = (given.today - given.first_week).days // DAYS_A_WEEK
    weeks = range(max(this_week, 0), forecast.shape[1])
    if change.week_on is not None:
        week = (change.week_on - given.first_week).days // DAYS_A_WEEK
        weeks = range(week, week + 1) if week in weeks else range(0)
    for kit in kits:
        for week in weeks:
            times = int(forecast[kit, week]) * change.times
            forecast[kit, week] = round(times) if change.kits is None else change.kits
    return replace(given, forecast=forecast)


def _other_lots(given: PlanInput, change: OtherLotDate | OtherLotAlpha) -> PlanInput:
    def other(lot: PlanLot) -> PlanLot:
        if lot.lot_id != change.lot_id:
            return lot
        if isinstance(change, OtherLotDate):
            return replace(lot, last_on=change.last_on)
        return replace(lot, alpha=change.alpha * lot.form_factor)

    return replace(given, lots=tuple(other(lot) for lot in given.lots))


def _other_lead_time(given: PlanInput, change: OtherLeadTime) -> PlanInput:
    offers = tuple(
        replace(offer, delivery=replace(offer.delivery, lead_days=change.lead_days))
        if offer.supplier_id == change.supplier_id
        else offer
        for offer in given.offers
    )
    return replace(given, offers=offers)
