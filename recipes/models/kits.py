"""Kits: what is sold, the parts beside the recipe, and the frozen bill of materials."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Item
from recipes.models.methods import ROLE_CHOICES, USE_CHOICES, Line, Method

MOST_KITS = 100_000
"""More of one kit at once than a small producer packs in a year: a slip of the pen."""


class Part(models.TextChoices):
    """When a part goes into the box."""

    PACKED = "packed", "Packed to stock"
    DISPATCH = "dispatch", "Added at dispatch"


class Kit(Versioned):
    """A method of an offered revision at one batch size, packed and sold as an item.

    ``shelf_days`` is the allowance from pack (or dispatch) to brew day. ``target_ibu`` and the
    bill are frozen when the kit is offered: the unrounded sum of its additions at reference
    alpha, for this size and method.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="kit")
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="kits")
    volume = models.PositiveBigIntegerField()
    shelf_days = models.PositiveIntegerField(default=90)
    yeast_part = models.CharField(max_length=8, choices=Part.choices, default=Part.DISPATCH)
    offered = models.BooleanField(default=False)
    target_ibu = models.FloatField(null=True, blank=True)  # noqa: TID251 - a frozen figure
    figures = models.JSONField(default=dict)
    price = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["item"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(volume__gt=0), name="kit_volume_positive"),
            models.CheckConstraint(
                condition=models.Q(offered=False) | models.Q(target_ibu__isnull=False),
                name="kit_offered_has_a_target",
            ),
        ]

    def __str__(self) -> str:
        """Name the kit by its item's code."""
        return str(self.item)


class KitPart(models.Model):
    """Something in the box beside the recipe's lines: the box, pouches, labels, a leaflet."""

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="parts")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    quantity = models.PositiveBigIntegerField()
    part = models.CharField(max_length=8, choices=Part.choices, default=Part.PACKED)

    class Meta:
        ordering: ClassVar = ["kit", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kit", "item", "part"], name="kit_part_once"),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="kit_part_quantity"),
        ]

    def __str__(self) -> str:
        """Say what is in the box."""
        return f"{self.quantity} of {self.item_id}"


class KitBillLine(models.Model):
    """One row of a kit's frozen bill: exact and packed amount of one item, and why they differ.

    ``key`` names the line within the kit for good ("hop-3"): sheets, reservations and proposals
    refer to it. Yeast options are rows of their own with use ``fermenter``; a run takes one.
    """

    kit = models.ForeignKey(Kit, on_delete=models.CASCADE, related_name="bill")
    key = models.CharField(max_length=24)
    position = models.PositiveSmallIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    line = models.ForeignKey(Line, null=True, blank=True, on_delete=models.PROTECT)
    use = models.CharField(max_length=12, choices=USE_CHOICES, blank=True, default="")
    minutes = models.PositiveIntegerField(default=0)
    part = models.CharField(max_length=8, choices=Part.choices, default=Part.PACKED)
    exact = models.FloatField()  # noqa: TID251 - stock units before any rounding
    packed = models.PositiveBigIntegerField()
    reason = models.CharField(max_length=200, blank=True, default="")
    overage = models.FloatField(default=0.0)  # noqa: TID251 - a share
    role = models.CharField(max_length=16, choices=ROLE_CHOICES, blank=True, default="")
    reference_alpha = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share
    ibu_per_gram = models.FloatField(null=True, blank=True)  # noqa: TID251 - per unit alpha
    is_yeast_option = models.BooleanField(default=False)

    class Meta:
        ordering: ClassVar = ["kit", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["kit", "key"], name="kit_bill_key_once"),
            models.CheckConstraint(condition=models.Q(packed__gt=0), name="kit_bill_packed"),
        ]

    def __str__(self) -> str:
        """Say how much of what."""
        return f"{self.packed} of {self.item_id}"
