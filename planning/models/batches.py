"""Batches: the part of a run packed from one set of hop and yeast lots."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Conversion, Lot, Reservation
from inventory.models.codes import code_field
from planning.models.runs import RunLine
from recipes.models import KitBillLine


class BatchState(models.TextChoices):
    """Where a batch stands. Short is not a state: it follows from its reservations."""

    RESERVED = "reserved", "Reserved"
    PACKED = "packed", "Packed"
    CANCELLED = "cancelled", "Cancelled"


class Batch(Versioned):
    """Kits of one run line whose every box has the same weights and the same sheet.

    ``brew_on`` is the day the weights are right for: the pack date and the kit's shelf
    allowance. The code becomes the finished kits' lot code.
    """

    code = code_field()
    run_line = models.ForeignKey(RunLine, on_delete=models.PROTECT, related_name="batches")
    number = models.PositiveSmallIntegerField()
    kits = models.PositiveIntegerField()
    brew_on = models.DateField()
    state = models.CharField(max_length=10, choices=BatchState.choices, default=BatchState.RESERVED)
    packed_kits = models.PositiveIntegerField(null=True, blank=True)
    conversion = models.OneToOneField(Conversion, on_delete=models.PROTECT, related_name="batch")

    class Meta:
        ordering: ClassVar = ["run_line", "number"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(kits__gt=0), name="batch_positive"),
            models.CheckConstraint(
                condition=models.Q(state__in=BatchState.values), name="batch_state_known"
            ),
        ]

    def __str__(self) -> str:
        """Name the batch by its code."""
        return self.code


class Allocation(models.Model):
    """What a batch takes of one lot for one line of its kit's bill.

    ``per_kit`` is the packed amount of the line in every box (all allocations of a line agree);
    ``quantity`` is what is reserved of this lot, overage included; ``used`` is what packing
    really took, recorded once. ``minutes`` is the boil time of an addition that moved its time,
    null where the recipe's stands. Rows are replaced, not
    edited: ``current`` is false for what an accepted proposal or a cancel put aside.
    """

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="allocations")
    bill_line = models.ForeignKey(KitBillLine, on_delete=models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="allocations")
    per_kit = models.PositiveBigIntegerField()
    quantity = models.PositiveBigIntegerField()
    used = models.PositiveBigIntegerField(null=True, blank=True)
    alpha = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share on brew day
    minutes = models.PositiveIntegerField(null=True, blank=True)
    reservation = models.OneToOneField(
        Reservation, on_delete=models.PROTECT, related_name="allocation"
    )
    current = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["batch", "bill_line__position", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["batch", "bill_line", "lot"],
                condition=models.Q(current=True),
                name="allocation_once_per_lot",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0, per_kit__gt=0), name="allocation_positive"
            ),
        ]

    def __str__(self) -> str:
        """Say how much of which lot."""
        return f"{self.quantity} of {self.lot_id} for {self.batch_id}"
