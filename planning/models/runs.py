"""Production runs: which kits to pack on which day."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Item
from inventory.models.codes import code_field
from recipes.models import Kit, KitBillSubstitute


class RunState(models.TextChoices):
    """Where a run stands. Stock is held from *reserved* on and used in *packing*."""

    PLANNED = "planned", "Planned"
    RESERVED = "reserved", "Reserved"
    PACKING = "packing", "Packing"
    CLOSED = "closed", "Closed"
    CANCELLED = "cancelled", "Cancelled"


OPEN_STATES = (RunState.PLANNED, RunState.RESERVED, RunState.PACKING)


class Run(Versioned):
    """A day of packing."""

    code = code_field()
    pack_on = models.DateField()
    state = models.CharField(max_length=10, choices=RunState.choices, default=RunState.PLANNED)
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["pack_on", "code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=RunState.values), name="run_state_known"
            )
        ]

    def __str__(self) -> str:
        """Name the run by its code."""
        return self.code


class RunLine(models.Model):
    """A number of one kit within a run, with the yeast chosen for it."""

    run = models.ForeignKey(Run, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kit = models.ForeignKey(Kit, on_delete=models.PROTECT, related_name="run_lines")
    kits = models.PositiveIntegerField()
    yeast = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["run", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run", "kit"], name="run_line_kit_once"),
            models.CheckConstraint(condition=models.Q(kits__gt=0), name="run_line_positive"),
        ]

    def __str__(self) -> str:
        """Say how many of what."""
        return f"{self.kits} of {self.kit_id}"


class RunLineSubstitute(models.Model):
    """An approved substitute that a run line uses for one row of its kit's bill."""

    run_line = models.ForeignKey(RunLine, on_delete=models.CASCADE, related_name="substitutes")
    key = models.CharField(max_length=24)
    substitute = models.ForeignKey(KitBillSubstitute, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["run_line", "key"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["run_line", "key"], name="run_line_substitute_once")
        ]

    def __str__(self) -> str:
        """Say which row is replaced."""
        return f"{self.key} of {self.run_line_id}"
