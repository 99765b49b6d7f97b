"""What people have typed at a draft's method and not saved yet."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from recipes.brewing.roles import MethodKind
from recipes.models.methods import METHOD_CHOICES
from recipes.models.recipes import Revision


class TypedMethod(models.Model):
    """One person's typing at one method of a draft: the boxes as they stand, whatever they say.

    Each person has their own, so nobody types over another. ``texts`` holds the boxes by name, and
    is empty where nothing waits to be saved. ``started_from`` is the version of the revision that
    the typing began from. ``settled`` names the form that was saved or discarded last: what it
    still sends afterwards came late and is no new typing.
    """

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="typed")
    kind = models.CharField(max_length=12, choices=METHOD_CHOICES)
    typed_by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.CASCADE)
    typed_at = models.DateTimeField()
    started_from = models.PositiveIntegerField()
    texts = models.JSONField(default=dict)
    settled = models.CharField(max_length=80, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["revision", "kind", "typed_by"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["revision", "kind", "typed_by"], name="typed_once_per_person"
            ),
            models.CheckConstraint(
                condition=models.Q(kind__in=[kind.value for kind in MethodKind]),
                name="typed_kind_known",
            ),
        ]

    def __str__(self) -> str:
        """Say whose typing it is."""
        return f"{self.kind} of {self.revision_id} by {self.typed_by_id}"
