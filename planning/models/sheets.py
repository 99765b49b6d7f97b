"""Sheet revisions: what a batch is weighed by, as issued; a chain of hashes ties them."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from planning.models.batches import Batch


class SheetRevision(models.Model):
    """One revision of a batch's sheet. At most one is open; the others are void and kept.

    ``content`` is the canonical JSON the papers are drawn from; ``digest`` is its SHA-256
    together with ``previous_digest``.
    """

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="sheets")
    number = models.PositiveSmallIntegerField()
    content = models.JSONField()
    digest = models.CharField(max_length=64)
    previous_digest = models.CharField(max_length=64, blank=True, default="")
    issued_at = models.DateTimeField(auto_now_add=True)
    issued_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    voided_at = models.DateTimeField(null=True, blank=True)
    void_reason = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["batch", "number"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["batch", "number"], name="sheet_number_once"),
            models.UniqueConstraint(
                fields=["batch"],
                condition=models.Q(voided_at__isnull=True),
                name="sheet_one_open_per_batch",
            ),
        ]

    def __str__(self) -> str:
        """Name the batch and the number."""
        return f"sheet {self.number} of {self.batch_id}"
