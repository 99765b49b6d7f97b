"""Places that stock moves between, and how warm they are."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models.codes import code_field


class PlaceKind(models.TextChoices):
    """What a place is in the ledger: only storage holds stock."""

    SUPPLIER = "supplier", "Supplier"
    STORAGE = "storage", "Storage"
    PRODUCTION = "production", "Production"
    CUSTOMER = "customer", "Customer"
    WASTE = "waste", "Waste"
    CORRECTION = "correction", "Correction"


FIXED_KINDS = tuple(kind for kind in PlaceKind if kind is not PlaceKind.STORAGE)


class Place(Versioned):
    """A place. One fixed row stands for each kind that is not storage."""

    code = code_field()
    name = models.CharField(max_length=80)
    kind = models.CharField(max_length=12, choices=PlaceKind.choices, default=PlaceKind.STORAGE)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=PlaceKind.values), name="place_kind_known"
            ),
            models.UniqueConstraint(
                fields=["kind"],
                condition=~models.Q(kind=PlaceKind.STORAGE),
                name="place_one_of_each_fixed_kind",
            ),
        ]

    def __str__(self) -> str:
        """Name the place."""
        return self.name


class PlaceTemperature(models.Model):
    """How warm a storage place is, from a day on."""

    place = models.ForeignKey(Place, on_delete=models.CASCADE, related_name="temperatures")
    from_on = models.DateField()
    temperature_c = models.FloatField()  # noqa: TID251 - a measured property

    class Meta:
        ordering: ClassVar = ["place", "from_on"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["place", "from_on"], name="place_temperature_day"),
            models.CheckConstraint(
                condition=models.Q(temperature_c__gte=-40, temperature_c__lte=60),
                name="place_temperature_possible",
            ),
        ]

    def __str__(self) -> str:
        """Say how warm it is."""
        return f"{self.temperature_c} C from {self.from_on}"
