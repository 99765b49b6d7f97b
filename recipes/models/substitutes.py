"""Approved substitutes: what may stand for a line or a yeast when it runs out."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models import Item
from recipes.models.methods import Line
from recipes.models.recipes import YeastOption


class Substitute(models.Model):
    """An item that may stand for a line, or for a yeast option, and who approved it.

    ``ratio`` is the weight of the substitute for a weight of 1 of what it stands for; of a yeast,
    packs are counted anew and the ratio is 1.
    """

    line = models.ForeignKey(
        Line, null=True, blank=True, on_delete=models.CASCADE, related_name="substitutes"
    )
    yeast = models.ForeignKey(
        YeastOption, null=True, blank=True, on_delete=models.CASCADE, related_name="substitutes"
    )
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    ratio = models.FloatField(default=1.0)  # noqa: TID251 - weight for weight
    note = models.CharField(max_length=120, blank=True, default="")
    approved_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    approved_at = models.DateTimeField(auto_now_add=True)

    class Meta:
        ordering: ClassVar = ["id"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(line__isnull=True, yeast__isnull=False)
                | models.Q(line__isnull=False, yeast__isnull=True),
                name="substitute_stands_for_one_thing",
            ),
            models.CheckConstraint(condition=models.Q(ratio__gt=0), name="substitute_ratio"),
            models.UniqueConstraint(fields=["line", "item"], name="substitute_once_per_line"),
            models.UniqueConstraint(fields=["yeast", "item"], name="substitute_once_per_yeast"),
        ]

    def __str__(self) -> str:
        """Say what may stand in."""
        return f"{self.item_id} for {self.line_id or self.yeast_id}"
