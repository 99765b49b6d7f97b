"""Kits: what is sold, the parts beside the recipe, and the frozen bill of materials."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
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


class Contents(models.TextChoices):
    """What is in the box: the whole kit, or its hops alone, packed ahead with their own sheet."""

    KIT = "kit", "Whole kit"
    HOP_PACK = "hop_pack", "Hop pack"


class Kit(Versioned):
    """A method of an offered revision at one batch size, packed and sold as an item.

    ``shelf_days`` is the allowance from pack (or dispatch) to brew day. ``target_ibu`` and the
    bill are frozen when the kit is offered: the unrounded sum of its additions at reference
    alpha, for this size and method. ``target_share`` and ``floor_share`` of the pitch are the
    kit's own, where it does not go by its strain's.

    A kit that holds a hop pack among its parts takes its hops from there: the pack is a kit of the
    same method and volume that holds nothing else. Grain added at dispatch is crushed to order.
    It is packed from ``first_pack_on`` to ``last_pack_on`` and sold until ``last_sale_on``; runs
    are of at least ``minimum_kits`` and a multiple of ``multiple_kits``.
    """

    item = models.OneToOneField(Item, on_delete=models.PROTECT, related_name="kit")
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="kits")
    volume = models.PositiveBigIntegerField()
    shelf_days = models.PositiveIntegerField(default=90)
    yeast_part = models.CharField(max_length=8, choices=Part.choices, default=Part.DISPATCH)
    grain_part = models.CharField(max_length=8, choices=Part.choices, default=Part.PACKED)
    contents = models.CharField(max_length=8, choices=Contents.choices, default=Contents.KIT)
    first_pack_on = models.DateField(null=True, blank=True)
    last_pack_on = models.DateField(null=True, blank=True)
    last_sale_on = models.DateField(null=True, blank=True)
    minimum_kits = models.PositiveIntegerField(default=1)
    multiple_kits = models.PositiveIntegerField(default=1)
    offered = models.BooleanField(default=False)
    target_ibu = models.FloatField(null=True, blank=True)  # noqa: TID251 - a frozen figure
    figures = models.JSONField(default=dict)
    price = models.PositiveBigIntegerField(default=0)
    target_share = models.FloatField(null=True, blank=True)  # noqa: TID251 - of the pitch
    floor_share = models.FloatField(null=True, blank=True)  # noqa: TID251 - of the pitch

    class Meta:
        ordering: ClassVar = ["item"]
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(volume__gt=0), name="kit_volume_positive"),
            models.CheckConstraint(
                condition=models.Q(target_share__isnull=True, floor_share__isnull=True)
                | models.Q(
                    target_share__isnull=False,
                    floor_share__isnull=False,
                    floor_share__gt=0,
                    target_share__gte=models.F("floor_share"),
                ),
                name="kit_floor_below_target",
            ),
            models.CheckConstraint(
                condition=models.Q(offered=False) | models.Q(target_ibu__isnull=False),
                name="kit_offered_has_a_target",
            ),
            models.CheckConstraint(
                condition=models.Q(contents__in=Contents.values)
                & models.Q(minimum_kits__gt=0, multiple_kits__gt=0),
                name="kit_runs_possible",
            ),
            models.CheckConstraint(
                condition=(
                    models.Q(first_pack_on__isnull=True)
                    | models.Q(last_pack_on__isnull=True)
                    | models.Q(last_pack_on__gte=models.F("first_pack_on"))
                )
                & (
                    models.Q(last_pack_on__isnull=True)
                    | models.Q(last_sale_on__isnull=True)
                    | models.Q(last_sale_on__gte=models.F("last_pack_on"))
                ),
                name="kit_dates_in_order",
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
    ``minutes_table`` is IBU per gram of alpha acid by boil minutes, ``[[minutes, value], ...]``,
    for an addition that moves its time; empty for the others.
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
    minutes_table: models.JSONField[Any, Any] = models.JSONField(default=list)
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


class KitBillSubstitute(models.Model):
    """An approved substitute of one row of a kit's bill, frozen with the kit.

    ``exact``, ``packed``, alpha and IBU per gram are the substitute's; ``figures`` are those of the
    kit brewed with it, with their working.
    """

    bill_line = models.ForeignKey(KitBillLine, on_delete=models.CASCADE, related_name="substitutes")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    ratio = models.FloatField()  # noqa: TID251 - weight for weight
    exact = models.FloatField()  # noqa: TID251 - stock units before any rounding
    packed = models.PositiveBigIntegerField()
    reason = models.CharField(max_length=200, blank=True, default="")
    overage = models.FloatField(default=0.0)  # noqa: TID251 - a share
    reference_alpha = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share
    ibu_per_gram = models.FloatField(null=True, blank=True)  # noqa: TID251 - per unit alpha
    minutes_table: models.JSONField[Any, Any] = models.JSONField(default=list)
    note = models.CharField(max_length=120, blank=True, default="")
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    figures: models.JSONField[Any, Any] = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["bill_line", "id"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["bill_line", "item"], name="kit_substitute_once"),
            models.CheckConstraint(
                condition=models.Q(packed__gt=0, ratio__gt=0), name="kit_substitute_packed"
            ),
        ]

    def __str__(self) -> str:
        """Say what stands for what."""
        return f"{self.item_id} for {self.bill_line_id}"
