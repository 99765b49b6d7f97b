"""Demand for kits, by week."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from recipes.models import Kit


class DemandSource(models.TextChoices):
    """Where a demand comes from."""

    ORDER = "order", "Order"
    FORECAST = "forecast", "Forecast"


class Demand(models.Model):
    """Kits wanted by a day; a forecast is dated on the Monday of its week."""

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="demand")
    wanted_on = models.DateField()
    kits = models.PositiveIntegerField()
    source = models.CharField(
        max_length=8, choices=DemandSource.choices, default=DemandSource.FORECAST
    )
    reference = models.CharField(max_length=40, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["wanted_on", "kit"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["kit", "wanted_on", "source", "reference"], name="demand_once"
            ),
            models.CheckConstraint(condition=models.Q(kits__gt=0), name="demand_positive"),
        ]

    def __str__(self) -> str:
        """Say how many by when."""
        return f"{self.kits} of {self.kit_id} by {self.wanted_on}"
