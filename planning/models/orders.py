"""Purchase orders: what is ordered from a supplier, what has come of it, and what is lacking."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Contract, Item, Lot, Posting, Supplier, SupplierItem
from inventory.models.codes import code_field


class OrderState(models.TextChoices):
    """Where a purchase order stands."""

    DRAFT = "draft", "Draft"
    SENT = "sent", "Sent"
    PART_RECEIVED = "part", "Part received"
    CLOSED = "closed", "Closed"
    CANCELLED = "cancelled", "Cancelled"


ON_ORDER = (OrderState.SENT, OrderState.PART_RECEIVED)
"""The states in which what is lacking will still come."""


class PurchaseOrder(Versioned):
    """An order of one supplier; ``ordered_on`` is the day it was sent, or is to be sent."""

    code = code_field()
    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="orders")
    ordered_on = models.DateField()
    state = models.CharField(max_length=10, choices=OrderState.choices, default=OrderState.SENT)
    note = models.CharField(max_length=200, blank=True, default="")

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
    """An item on an order: how much, by when, at what price, and how much has come already.

    ``quantity`` is whole packs where an ``offer`` stands for it; ``pack_price`` is in
    ten-thousandths. ``due_on`` is the day the supplier promised, or the day it is expected.
    ``need_by`` and ``order_by`` are as the plan had them. ``ended`` where the rest will not come.
    """

    order = models.ForeignKey(PurchaseOrder, on_delete=models.CASCADE, related_name="lines")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    offer = models.ForeignKey(
        SupplierItem, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    contract = models.ForeignKey(
        Contract, null=True, blank=True, on_delete=models.PROTECT, related_name="lines"
    )
    quantity = models.PositiveBigIntegerField()
    pack_quantity = models.PositiveBigIntegerField(null=True, blank=True)
    pack_price = models.PositiveBigIntegerField(null=True, blank=True)
    received = models.PositiveBigIntegerField(default=0)
    due_on = models.DateField()
    need_by = models.DateField(null=True, blank=True)
    order_by = models.DateField(null=True, blank=True)
    runs = models.CharField(max_length=400, blank=True, default="")
    ended = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["order", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "item", "due_on"], name="order_line_once"),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="order_line_positive"),
            models.CheckConstraint(
                condition=models.Q(pack_quantity__isnull=True) | models.Q(pack_quantity__gt=0),
                name="order_line_pack_positive",
            ),
        ]

    def __str__(self) -> str:
        """Say how much by when."""
        return f"{self.quantity} of {self.item_id} by {self.due_on}"


class Receipt(Versioned):
    """One delivery against an order; ``freight`` ten-thousandths were paid for it as a whole."""

    code = code_field()
    order = models.ForeignKey(PurchaseOrder, on_delete=models.PROTECT, related_name="receipts")
    received_on = models.DateField()
    delivery_note = models.CharField(max_length=40, blank=True, default="")
    freight = models.PositiveBigIntegerField(default=0)
    received_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    undone_at = models.DateTimeField(null=True, blank=True)

    class Meta:
        ordering: ClassVar = ["code"]

    def __str__(self) -> str:
        """Name the receipt by its code."""
        return self.code


class ReceiptLine(models.Model):
    """What came of one line: the lot it became, and what was damaged and not taken in.

    ``price`` ten-thousandths is what the good quantity cost by itself, and ``landed`` with its
    share of the freight: that is the lot's cost.
    """

    receipt = models.ForeignKey(Receipt, on_delete=models.PROTECT, related_name="lines")
    line = models.ForeignKey(PurchaseLine, on_delete=models.PROTECT, related_name="receipts")
    lot = models.OneToOneField(Lot, null=True, blank=True, on_delete=models.PROTECT)
    posting = models.OneToOneField(Posting, null=True, blank=True, on_delete=models.PROTECT)
    quantity = models.PositiveBigIntegerField()
    damaged = models.PositiveBigIntegerField(default=0)
    damage = models.CharField(max_length=200, blank=True, default="")
    price = models.PositiveBigIntegerField(default=0)
    landed = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["receipt", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0) | models.Q(damaged__gt=0),
                name="receipt_line_holds_something",
            ),
            models.CheckConstraint(
                condition=models.Q(quantity=0, lot__isnull=True)
                | models.Q(quantity__gt=0, lot__isnull=False),
                name="receipt_line_has_its_lot",
            ),
        ]

    def __str__(self) -> str:
        """Say how much came."""
        return f"{self.quantity} for {self.line_id}"
