"""Lots: one delivery or one batch of one item, alike throughout."""

from __future__ import annotations

from datetime import date
from typing import ClassVar

from django.db import models

from boxwort.accounts.models import PACKING_CHOICES, Versioned
from inventory.models.buying import Supplier
from inventory.models.codes import code_field
from inventory.models.items import HopForm, Item


class LotStatus(models.TextChoices):
    """What may be done with a lot. Expired is not a status: it follows from the date."""

    QUARANTINE = "quarantine", "Quarantine"
    RELEASED = "released", "Released"
    ON_HOLD = "on_hold", "On hold"
    REJECTED = "rejected", "Rejected"


class Packing(models.TextChoices):
    """How a hop lot is packed, which sets how fast it ages."""

    LOOSE = PACKING_CHOICES[0]
    AIRTIGHT = PACKING_CHOICES[1]
    BARRIER = PACKING_CHOICES[2]


class Lot(Versioned):
    """A lot with its dates, status and cost.

    ``packaged_on`` is the date on the pack (yeast, hops); ageing starts there until an analysis
    says better. ``form`` is a hop lot's where it differs from its item's. ``crushed_on`` and
    ``opened_on`` start the clocks of ``Item.crushed_days`` and ``opened_days``. The cost is a pair:
    ``cost_amount`` ten-thousandths were paid for ``cost_quantity`` units of stock, so that no
    price per unit is ever rounded.

    ``made_by`` is the work that made it. ``from_lot`` is the one lot of the same item that it
    goes on from: what was measured on that lot is true of it too, and it has aged as that lot did
    until the day it was made, or ``parted_on``, the day it was packed into kits that were broken
    down since. A blend goes on from none.
    """

    code = code_field()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="lots")
    supplier = models.ForeignKey(Supplier, null=True, blank=True, on_delete=models.PROTECT)
    supplier_lot = models.CharField(max_length=40, blank=True, default="")
    received_on = models.DateField()
    packaged_on = models.DateField(null=True, blank=True)
    best_before_on = models.DateField(null=True, blank=True)
    status = models.CharField(
        max_length=12, choices=LotStatus.choices, default=LotStatus.QUARANTINE
    )
    status_reason = models.CharField(max_length=200, blank=True, default="")
    packing = models.CharField(max_length=8, choices=Packing.choices, blank=True, default="")
    form = models.CharField(max_length=8, choices=HopForm.choices, blank=True, default="")
    crushed_on = models.DateField(null=True, blank=True)
    opened_on = models.DateField(null=True, blank=True)
    made_by = models.ForeignKey(
        "inventory.Conversion",
        null=True,
        blank=True,
        on_delete=models.PROTECT,
        related_name="outputs",
    )
    from_lot = models.ForeignKey(
        "self", null=True, blank=True, on_delete=models.PROTECT, related_name="goes_on_in"
    )
    parted_on = models.DateField(null=True, blank=True)
    cost_amount = models.PositiveBigIntegerField(default=0)
    cost_quantity = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["code"]
        indexes: ClassVar = [models.Index(fields=["item", "status"], name="lot_item_status")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(status__in=LotStatus.values), name="lot_status_known"
            ),
            models.CheckConstraint(
                condition=models.Q(best_before_on__isnull=True)
                | models.Q(packaged_on__isnull=True)
                | models.Q(best_before_on__gte=models.F("packaged_on")),
                name="lot_best_before_after_packaging",
            ),
            models.CheckConstraint(
                condition=models.Q(cost_amount=0) | models.Q(cost_quantity__gt=0),
                name="lot_cost_has_a_quantity",
            ),
        ]

    def __str__(self) -> str:
        """Name the lot by its code."""
        return self.code

    @property
    def begun_on(self) -> date:
        """The day from which it has a life of its own, apart from the lot it goes on from."""
        return self.parted_on or self.received_on
