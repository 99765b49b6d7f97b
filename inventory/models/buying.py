"""Suppliers, what they sell, in which packs and at which price."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import WEEKDAYS, Versioned
from boxwort.weekdays import EVERY_DAY
from inventory.models.codes import code_field
from inventory.models.items import Item


class Supplier(Versioned):
    """Somebody the house buys from.

    Orders are taken on ``order_weekdays``; ``lead_days`` count every day, or only the house's
    working days.
    """

    code = code_field()
    name = models.CharField(max_length=120)
    email = models.EmailField(blank=True, default="")
    lead_days = models.PositiveIntegerField(default=7)
    order_weekdays = models.CharField(max_length=7, default=EVERY_DAY)
    counts_working_days = models.BooleanField(default=False)
    active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(order_weekdays__regex=WEEKDAYS),
                name="supplier_order_weekdays",
            )
        ]

    def __str__(self) -> str:
        """Name the supplier."""
        return self.name


class SupplierItem(Versioned):
    """An item as one supplier sells it: the pack, the least order, the time it takes."""

    supplier = models.ForeignKey(Supplier, on_delete=models.PROTECT, related_name="offers")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="offers")
    supplier_code = models.CharField(max_length=40, blank=True, default="")
    pack_quantity = models.PositiveBigIntegerField()
    minimum_packs = models.PositiveIntegerField(default=1)
    lead_days = models.PositiveIntegerField(null=True, blank=True)
    preferred = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["supplier", "item"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["supplier", "item", "pack_quantity"], name="supplier_item_pack_once"
            ),
            models.UniqueConstraint(
                fields=["item"],
                condition=models.Q(preferred=True),
                name="supplier_item_one_preferred",
            ),
            models.CheckConstraint(
                condition=models.Q(pack_quantity__gt=0, minimum_packs__gt=0),
                name="supplier_item_pack_positive",
            ),
        ]

    def __str__(self) -> str:
        """Name the offer."""
        return f"{self.item_id} from {self.supplier_id}"


class PriceBreak(models.Model):
    """The price of one pack, in ten-thousandths of the currency, from a number of packs on."""

    offer = models.ForeignKey(SupplierItem, on_delete=models.CASCADE, related_name="breaks")
    from_packs = models.PositiveIntegerField(default=1)
    pack_price = models.PositiveBigIntegerField()

    class Meta:
        ordering: ClassVar = ["offer", "from_packs"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["offer", "from_packs"], name="price_break_once"),
            models.CheckConstraint(
                condition=models.Q(from_packs__gt=0), name="price_break_from_one"
            ),
        ]

    def __str__(self) -> str:
        """Say from how many packs."""
        return f"from {self.from_packs}"


class Contract(Versioned):
    """A quantity of an item agreed with a supplier, to be called off between two days.

    ``pack_price`` ten-thousandths is paid for each pack of the offer; none: the offer's price.
    """

    code = code_field()
    offer = models.ForeignKey(SupplierItem, on_delete=models.PROTECT, related_name="contracts")
    crop_year = models.PositiveSmallIntegerField(null=True, blank=True)
    quantity = models.PositiveBigIntegerField()
    pack_price = models.PositiveBigIntegerField(null=True, blank=True)
    from_on = models.DateField()
    until_on = models.DateField()

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0, until_on__gte=models.F("from_on")),
                name="contract_possible",
            )
        ]

    def __str__(self) -> str:
        """Name the contract by its code."""
        return self.code
