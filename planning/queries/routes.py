"""How boxes travel to a customer, from the zone of the order and the rules of the house."""

from __future__ import annotations

from boxwort.accounts.models import DayOff, SiteSettings
from planning.engine.calendar import WorkingDays
from planning.engine.shipping import Route, Season
from planning.models import DispatchZone


def working_days(site: SiteSettings) -> WorkingDays:
    """Return the days on which the house works; one statement."""
    return WorkingDays(
        weekdays=site.working_weekdays,
        days_off=frozenset(DayOff.objects.values_list("on", flat=True)),
    )


def route_of(zone: DispatchZone | None, site: SiteSettings) -> Route:
    """Return how boxes travel to a zone; without one, as the house rules say, on any day."""
    if zone is None:
        return Route(
            transit_days=site.transit_days,
            temperature_c=site.transit_temperature_c,
            warm_temperature_c=site.transit_temperature_c,
        )
    season = None
    if zone.warm_from is not None and zone.warm_until is not None:
        season = Season(first=zone.warm_from, last=zone.warm_until)
    return Route(
        weekdays=zone.ship_weekdays,
        transit_days=zone.transit_days,
        temperature_c=zone.temperature_c,
        warm_temperature_c=zone.warm_temperature_c,
        season=season,
        ice_packs=zone.ice_packs,
    )
