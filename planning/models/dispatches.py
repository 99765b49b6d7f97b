"""Dispatches: what left for a customer, in which lots, and what was added on the way out."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Conversion, Lot
from inventory.models.codes import code_field
from planning.models.customers import CustomerOrder, OrderLine


class Dispatch(Versioned):
    """One shipment of an order. Its conversion owns the posting, so that a trace finds it.

    ``content`` is what its papers are drawn from, as the boxes left.
    """

    code = code_field()
    order = models.ForeignKey(CustomerOrder, on_delete=models.PROTECT, related_name="dispatches")
    conversion = models.OneToOneField(Conversion, on_delete=models.PROTECT, related_name="dispatch")
    shipped_on = models.DateField()
    arrives_on = models.DateField()
    dispatched_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    undone_at = models.DateTimeField(null=True, blank=True)
    content = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-shipped_on", "-code"]

    def __str__(self) -> str:
        """Name the dispatch by its code."""
        return self.code


class DispatchBox(models.Model):
    """Boxes alike: kits of one line from one kit lot with one set of lots added, or an extra.

    ``brew_on`` is the day the customer is expected to brew; ``best_before_on`` is of the box as it
    left, with what was added.
    """

    dispatch = models.ForeignKey(Dispatch, on_delete=models.PROTECT, related_name="boxes")
    line = models.ForeignKey(OrderLine, on_delete=models.PROTECT, related_name="boxes")
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveBigIntegerField()
    brew_on = models.DateField(null=True, blank=True)
    best_before_on = models.DateField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["dispatch", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="dispatch_box_positive")
        ]

    def __str__(self) -> str:
        """Say how many of which lot."""
        return f"{self.quantity} of {self.lot_id}"


class DispatchPart(models.Model):
    """Something added to boxes at dispatch: ``key`` is the row of the kit's bill, or ``ice``."""

    box = models.ForeignKey(DispatchBox, on_delete=models.PROTECT, related_name="parts")
    key = models.CharField(max_length=24)
    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveBigIntegerField()
    crushed = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["box", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["box", "key", "lot"], name="dispatch_part_once"),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="dispatch_part_positive"
            ),
        ]

    def __str__(self) -> str:
        """Say how much of which lot."""
        return f"{self.quantity} of {self.lot_id}"
