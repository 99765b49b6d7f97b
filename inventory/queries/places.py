"""Storage places, and how warm each is."""

from __future__ import annotations

from datetime import date

from django.db.models import OuterRef, QuerySet, Subquery

from inventory.models import Place, PlaceKind, PlaceTemperature


def stores(on: date) -> QuerySet[Place]:
    """Return the storage places, each with ``temperature_c`` on a day, None where unknown."""
    standing = PlaceTemperature.objects.filter(place=OuterRef("pk"), from_on__lte=on)
    newest = standing.order_by("-from_on").values("temperature_c")[:1]
    return Place.objects.filter(kind=PlaceKind.STORAGE).annotate(temperature_c=Subquery(newest))
