"""Plans that were kept, the orders they proposed, and what-if changes to plan with."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, ClassVar, NamedTuple

from django.conf import settings
from django.db import models

from boxwort.accounts.models import Versioned
from boxwort.jobs.models import Job
from inventory.models import Item, SupplierItem


class WhatIf(Versioned):
    """A plan under other circumstances: changes that touch nothing but the figures beside it."""

    name = models.CharField(max_length=80, unique=True)
    note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["name"]

    def __str__(self) -> str:
        """Name it."""
        return self.name


class ChangeKind(models.TextChoices):
    """What a what-if changes."""

    DEMAND = "demand", "Demand for a kit"
    LOT_DATE = "lot_date", "A lot's best-before day"
    LOT_ALPHA = "lot_alpha", "A lot's alpha acid"
    LEAD_TIME = "lead_time", "A supplier's lead time"


class WhatIfChange(models.Model):
    """One change. ``about`` is the row of the kit, lot or supplier; ``values`` what is other.

    Demand: ``{"week": ISO Monday or "", "kits": n}`` or ``{"week": ..., "times": factor}``; a
    lot's date: ``{"best_before_on": ISO day}``; alpha: ``{"alpha": share}``; lead time:
    ``{"lead_days": n}``.
    """

    what_if = models.ForeignKey(WhatIf, on_delete=models.CASCADE, related_name="changes")
    kind = models.CharField(max_length=12, choices=ChangeKind.choices)
    about = models.BigIntegerField()
    values: models.JSONField[Any, Any] = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["what_if", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=ChangeKind.values), name="what_if_kind_known"
            )
        ]

    def __str__(self) -> str:
        """Say what changes."""
        return f"{self.kind} of {self.about}"


class Plan(models.Model):
    """A plan as it was on the day it was kept; its orders are what it proposed."""

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    as_of = models.DateField()
    weeks = models.PositiveIntegerField()
    note = models.CharField(max_length=200, blank=True, default="")
    figures: models.JSONField[Any, Any] = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        """Say of which day."""
        return f"plan of {self.as_of}"


class PlannedOrder(NamedTuple):
    """A run or a purchase that a plan proposed, as a :class:`PlannedItem` keeps it.

    ``order_by`` is its pack day, or the day to order on, and ``need_by`` when it must be there, ISO
    days; ``cost`` is ten-thousandths. ``pegs`` are what it serves and how much of it: a run, a
    planned run or a customer order by its code, in whole units of stock.
    """

    order_by: str
    need_by: str
    past_due: bool
    quantity: int
    cost: int
    pegs: Sequence[tuple[str, int]]


class PlannedItem(models.Model):
    """What a plan proposed of one item: of a kit its runs, else its purchases from one offer.

    A kept plan is thousands of orders that nobody changes or looks for one by one, so that they
    stand together: ``orders`` holds each :class:`PlannedOrder`, and ``quantity`` is all of them.
    """

    plan = models.ForeignKey(Plan, on_delete=models.CASCADE, related_name="proposed")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    offer = models.ForeignKey(
        SupplierItem, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    quantity = models.PositiveBigIntegerField()
    orders: models.JSONField[Any, Any] = models.JSONField(default=list)

    class Meta:
        ordering: ClassVar = ["plan", "id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(quantity__gt=0), name="planned_item_positive"
            ),
            models.UniqueConstraint(fields=["plan", "item", "offer"], name="planned_item_once"),
            models.UniqueConstraint(
                fields=["plan", "item"],
                condition=models.Q(offer=None),
                name="planned_kit_once",
            ),
        ]

    def __str__(self) -> str:
        """Say how much of what."""
        return f"{self.quantity} of {self.item_id}"


class LotPlan(models.Model):
    """Which lots go to which run lines over a horizon, and how good that answer is known to be.

    ``answer`` holds, by run line, its batches in order; ``figures`` compares it with the greedy
    answer and with first expired first out taken literally. ``bound`` and ``gap`` are of the aim
    that was solved last. A cancelled search keeps the last answer that was better.
    """

    made_at = models.DateTimeField(auto_now_add=True)
    made_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    job = models.OneToOneField(Job, null=True, blank=True, on_delete=models.SET_NULL)
    until_on = models.DateField()
    inputs = models.CharField(max_length=64)
    status = models.CharField(max_length=24)
    bound = models.FloatField(null=True, blank=True)  # noqa: TID251 - of an objective
    gap = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share
    answer: models.JSONField[Any, Any] = models.JSONField(default=dict)
    figures: models.JSONField[Any, Any] = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        """Say until when."""
        return f"lots until {self.until_on}"
