"""Dispatch zones for reading."""

from __future__ import annotations

from dataclasses import dataclass

from django.db.models import Count, Q

from boxwort.days_of_year import day_of_year_written
from planning.models import CustomerOrderState, DispatchZone


@dataclass(frozen=True, kw_only=True)
class ZoneRow:
    """A zone; ``open_orders`` are those that still have to leave for it."""

    id: int
    code: str
    name: str
    transit_days: int
    ship_weekdays: str
    temperature_c: float
    warm_temperature_c: float
    warm_from: int | None
    warm_until: int | None
    ice_item: str
    ice_packs: int
    active: bool
    open_orders: int

    @property
    def season(self) -> str:
        """The warm season in words; empty where there is none."""
        if self.warm_from is None or self.warm_until is None:
            return ""
        return f"{day_of_year_written(self.warm_from)} to {day_of_year_written(self.warm_until)}"


def zone_rows() -> list[ZoneRow]:
    """Return all zones, those in use first; one statement."""
    opened = Count("orders", filter=Q(orders__state=CustomerOrderState.OPEN))
    zones = DispatchZone.objects.select_related("ice_item").annotate(opened=opened)
    return [
        ZoneRow(
            id=zone.pk,
            code=zone.code,
            name=zone.name,
            transit_days=zone.transit_days,
            ship_weekdays=zone.ship_weekdays,
            temperature_c=zone.temperature_c,
            warm_temperature_c=zone.warm_temperature_c,
            warm_from=zone.warm_from,
            warm_until=zone.warm_until,
            ice_item=zone.ice_item.name if zone.ice_item else "",
            ice_packs=zone.ice_packs,
            active=zone.active,
            open_orders=zone.opened,
        )
        for zone in zones.order_by("-active", "code")
    ]
