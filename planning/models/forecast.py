"""Forecasts: kits foreseen to be ordered, by week."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from recipes.models import Kit


class Forecast(models.Model):
    """Kits foreseen for a week, kept on its Monday; firm orders use it up."""

    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="forecasts")
    week_on = models.DateField()
    kits = models.PositiveIntegerField()

    class Meta:
        ordering: ClassVar = ["week_on", "kit"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kit", "week_on"], name="forecast_once"),
            models.CheckConstraint(condition=models.Q(kits__gt=0), name="forecast_positive"),
        ]

    def __str__(self) -> str:
        """Say how many in which week."""
        return f"{self.kits} of {self.kit_id} in the week of {self.week_on}"
