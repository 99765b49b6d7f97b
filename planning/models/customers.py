"""Customer orders: what is promised to whom by which day, and where it goes."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import WEEKDAYS, Versioned
from boxwort.weekdays import EVERY_DAY
from inventory.models import Item
from inventory.models.codes import code_field
from recipes.models import Kit


class DispatchZone(Versioned):
    """Where boxes go: how long they are on the way, on which days they leave, and how warm it is.

    The warm season runs from ``warm_from`` to ``warm_until``, each month x 100 + day, over the new
    year where the first is the later; both or neither are given. In it a box with liquid yeast
    carries ``ice_packs`` of ``ice_item``, and travels at ``warm_temperature_c``.
    """

    code = code_field()
    name = models.CharField(max_length=80)
    transit_days = models.PositiveIntegerField(default=2)
    ship_weekdays = models.CharField(max_length=7, default=EVERY_DAY)
    temperature_c = models.FloatField(default=15.0)  # noqa: TID251 - a measured property
    warm_temperature_c = models.FloatField(default=25.0)  # noqa: TID251 - a measured property
    warm_from = models.PositiveSmallIntegerField(null=True, blank=True)
    warm_until = models.PositiveSmallIntegerField(null=True, blank=True)
    ice_item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    ice_packs = models.PositiveSmallIntegerField(default=0)
    active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(ship_weekdays__regex=WEEKDAYS) & ~models.Q(ship_weekdays=""),
                name="zone_ships_on_a_day",
            ),
            models.CheckConstraint(
                condition=models.Q(warm_from__isnull=True, warm_until__isnull=True)
                | models.Q(
                    warm_from__gte=101,
                    warm_from__lte=1231,
                    warm_until__gte=101,
                    warm_until__lte=1231,
                ),
                name="zone_season_whole",
            ),
            models.CheckConstraint(
                condition=models.Q(ice_packs=0) | models.Q(ice_item__isnull=False),
                name="zone_ice_has_an_item",
            ),
        ]

    def __str__(self) -> str:
        """Name the zone."""
        return self.name


class CustomerOrderState(models.TextChoices):
    """Where a customer order stands. Part dispatched follows from its dispatches."""

    OPEN = "open", "Open"
    DISPATCHED = "dispatched", "Dispatched"
    CANCELLED = "cancelled", "Cancelled"


class CustomerOrder(Versioned):
    """What a customer ordered; ``promised_on`` is the day it is to leave."""

    code = code_field()
    customer = models.CharField(max_length=120)
    zone = models.ForeignKey(
        DispatchZone, null=True, blank=True, on_delete=models.PROTECT, related_name="orders"
    )
    promised_on = models.DateField()
    state = models.CharField(
        max_length=10, choices=CustomerOrderState.choices, default=CustomerOrderState.OPEN
    )
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["promised_on", "code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(state__in=CustomerOrderState.values),
                name="customer_order_state_known",
            )
        ]

    def __str__(self) -> str:
        """Name the order by its code."""
        return self.code


class OrderLine(models.Model):
    """Kits of one kind with their options, or an extra: so much of an item beside the kits.

    ``yeast`` is the option chosen, none: the usual one. ``crushed`` counts where the kit's grain
    is added at dispatch. ``quantity`` is kits, or whole units of stock of the extra; ``dispatched``
    is what has left of it. ``price`` ten-thousandths is for one kit, or for the whole extra.
    """

    order = models.ForeignKey(CustomerOrder, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    kit = models.ForeignKey(
        Kit, null=True, blank=True, on_delete=models.PROTECT, related_name="order_lines"
    )
    item = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    yeast = models.ForeignKey(
        Item, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    crushed = models.BooleanField(default=True)
    quantity = models.PositiveBigIntegerField()
    dispatched = models.PositiveBigIntegerField(default=0)
    price = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering: ClassVar = ["order", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["order", "position"], name="order_position_once"),
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0, dispatched__lte=models.F("quantity")),
                name="customer_line_quantity",
            ),
            models.CheckConstraint(
                condition=models.Q(kit__isnull=False, item__isnull=True)
                | models.Q(kit__isnull=True, item__isnull=False, yeast__isnull=True),
                name="customer_line_kit_or_item",
            ),
        ]

    def __str__(self) -> str:
        """Say how much of what."""
        return f"{self.quantity} of {self.kit_id or self.item_id}"
