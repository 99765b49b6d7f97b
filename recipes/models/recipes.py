"""Recipes and their revisions."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Item
from inventory.models.codes import code_field


class Recipe(Versioned):
    """A beer the house designs kits for."""

    code = code_field()
    name = models.CharField(max_length=120)
    style = models.CharField(max_length=80, blank=True, default="")
    notes = models.CharField(max_length=400, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["code"]

    def __str__(self) -> str:
        """Name the recipe."""
        return self.name


class RevisionState(models.TextChoices):
    """Where a revision stands. From *offered* on, nothing that moves its figures may change."""

    DRAFT = "draft", "Draft"
    TRIAL = "trial", "Trial"
    OFFERED = "offered", "Offered"
    RETIRED = "retired", "Retired"


FROZEN_STATES = (RevisionState.OFFERED, RevisionState.RETIRED)


class Revision(Versioned):
    """One numbered state of a recipe.

    ``content_hash`` is the SHA-256 of everything that moves its figures, set when it is offered.
    """

    recipe = models.ForeignKey(Recipe, on_delete=models.PROTECT, related_name="revisions")
    number = models.PositiveIntegerField()
    state = models.CharField(
        max_length=8, choices=RevisionState.choices, default=RevisionState.DRAFT
    )
    reason = models.CharField(max_length=200, blank=True, default="")
    content_hash = models.CharField(max_length=64, blank=True, default="")
    offered_at = models.DateTimeField(null=True, blank=True)
    offered_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )

    class Meta:
        ordering: ClassVar = ["recipe", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["recipe", "number"], name="revision_number_once"),
            models.CheckConstraint(
                condition=models.Q(state__in=RevisionState.values), name="revision_state_known"
            ),
            models.CheckConstraint(
                condition=~models.Q(state__in=FROZEN_STATES) | ~models.Q(content_hash=""),
                name="revision_offered_is_frozen",
            ),
        ]

    def __str__(self) -> str:
        """Name the recipe and the number."""
        return f"{self.recipe} revision {self.number}"


class YeastOption(models.Model):
    """A yeast that a revision may be pitched with; the first is the usual one."""

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="yeasts")
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    position = models.PositiveSmallIntegerField(default=1)

    class Meta:
        ordering: ClassVar = ["revision", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "item"], name="yeast_option_once"),
            models.UniqueConstraint(fields=["revision", "position"], name="yeast_option_position"),
        ]

    def __str__(self) -> str:
        """Name the yeast."""
        return f"{self.item_id} for {self.revision_id}"
