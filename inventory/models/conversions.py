"""Conversions: one piece of work that turns lots into lots, and what is reserved for it."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models.codes import code_field
from inventory.models.lots import Lot


class ConversionKind(models.TextChoices):
    """The kinds of work that turn lots into lots."""

    PACK = "pack", "Pack kits"
    REPACK = "repack", "Repack"
    MILL = "mill", "Mill"
    DECANT = "decant", "Decant"
    BLEND = "blend", "Blend"
    BREAK_DOWN = "break_down", "Break down"
    TRIAL = "trial", "Trial batch"
    DISPATCH = "dispatch", "Dispatch"


WORKS = (
    ConversionKind.REPACK,
    ConversionKind.MILL,
    ConversionKind.DECANT,
    ConversionKind.BLEND,
    ConversionKind.BREAK_DOWN,
)
"""The kinds done on lots themselves, in one posting; packing, trials, dispatches have owners."""


class ConversionState(models.TextChoices):
    """Where the work stands."""

    OPEN = "open", "Open"
    DONE = "done", "Done"
    CANCELLED = "cancelled", "Cancelled"


class Conversion(models.Model):
    """One piece of work; it owns its reservations and postings. ``outputs`` are the lots it made.

    ``opened_lot`` is the lot in which something was left of an opened container: the lot that was
    worked on, whose best-before day was ``best_before_was``, or one made of what was left.
    """

    code = code_field()
    kind = models.CharField(max_length=12, choices=ConversionKind.choices)
    state = models.CharField(
        max_length=12, choices=ConversionState.choices, default=ConversionState.OPEN
    )
    opened_lot = models.ForeignKey(
        Lot, null=True, blank=True, on_delete=models.PROTECT, related_name="opened_by"
    )
    best_before_was = models.DateField(null=True, blank=True)
    opened_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=ConversionState.values), name="conversion_state_known"
            )
        ]

    def __str__(self) -> str:
        """Name the work by its code."""
        return self.code


class Ending(models.TextChoices):
    """How a reservation ended."""

    USED = "used", "Used"
    RELEASED = "released", "Given back"
    REPLACED = "replaced", "Replaced"
    LOST = "lost", "Lost to a count or rejection"


class Reservation(models.Model):
    """Stock of a lot kept for one line of one conversion. It ends once and never reopens.

    ``line`` names the line of the work ("12" or "hop-12"), free text of the owner.
    ``needed_on`` lets reality (a short count, a rejection) end the latest need first.
    """

    conversion = models.ForeignKey(
        Conversion, on_delete=models.PROTECT, related_name="reservations"
    )
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="reservations")
    line = models.CharField(max_length=40)
    quantity = models.PositiveBigIntegerField()
    needed_on = models.DateField()
    made_at = models.DateTimeField(auto_now_add=True)
    ended_at = models.DateTimeField(null=True, blank=True)
    ending = models.CharField(max_length=10, choices=Ending.choices, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["conversion", "line", "lot"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["conversion", "lot", "line"],
                condition=models.Q(ended_at__isnull=True),
                name="reservation_open_once_per_line",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="reservation_quantity_positive"
            ),
            models.CheckConstraint(
                condition=models.Q(ended_at__isnull=True, ending="")
                | models.Q(ended_at__isnull=False, ending__in=Ending.values),
                name="reservation_ends_with_a_reason",
            ),
        ]

    def __str__(self) -> str:
        """Say what is kept for what."""
        return f"{self.quantity} of {self.lot_id} for {self.conversion_id}"
