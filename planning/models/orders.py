"""Purchase orders already placed: what is on order and when it should come."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Item, Supplier
from inventory.models.codes import code_field


class OrderState(models.TextChoices):
    """Where a purchase order stands."""

    SENT = "sent", "Sent"
    CLOSED = "closed", "Closed"
    CANCELLED = "cancelled", "Cancelled"


class PurchaseOrder(Versioned):
    """An order sent to a supplier."""

    code = code_field()
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    ordered_on = models.DateField()
    state = models.CharField(max_length=10, choices=OrderState.choices, default=OrderState.SENT)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=OrderState.values), name="order_state_known"
            )
        ]

    def __str__(self) -> str:
        """Name the order by its code."""
        return self.code


class PurchaseLine(models.Model):
    """An item on an order: how much, by when, and how much has come already."""

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveBigIntegerField()
    received = models.PositiveBigIntegerField(default=0)
    due_on = models.DateField()

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "item", "due_on"], name="order_line_once"),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="order_line_positive"),
        ]

    def __str__(self) -> str:
        """Say how much by when."""
        return f"{self.quantity} of {self.item_id} by {self.due_on}"
