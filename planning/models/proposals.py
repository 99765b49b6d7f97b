"""Proposals: what re-balancing would change in a batch, for a person to decide."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from planning.models.batches import Batch


class ProposalState(models.TextChoices):
    """What became of a proposal."""

    OPEN = "open", "Open"
    ACCEPTED = "accepted", "Accepted"
    REFUSED = "refused", "Refused"
    STALE = "stale", "Out of date"


class Proposal(models.Model):
    """New weights (or lots) for one batch, made against one version of it.

    ``rows`` lists every hop or yeast line: key, item, old and new lot, old and new milligrams
    (or packs) per kit, IBU of each. Accepting is a compare-and-set on the batch's version.
    """

    batch = models.ForeignKey(Batch, on_delete=models.PROTECT, related_name="proposals")
    batch_version = models.PositiveIntegerField()
    cause = models.CharField(max_length=200)
    rows = models.JSONField()
    limits = models.JSONField(default=list)
    fingerprint = models.CharField(max_length=64)
    ibu_target = models.FloatField()  # noqa: TID251 - a computed figure
    ibu_unchanged = models.FloatField()  # noqa: TID251 - a computed figure
    ibu_corrected = models.FloatField()  # noqa: TID251 - a computed figure
    ibu_spread = models.FloatField()  # noqa: TID251 - one s.d.
    working = models.JSONField(default=dict)
    state = models.CharField(
        max_length=10, choices=ProposalState.choices, default=ProposalState.OPEN
    )
    made_at = models.DateTimeField(auto_now_add=True)
    decided_at = models.DateTimeField(null=True, blank=True)
    decided_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, null=True, blank=True, on_delete=models.PROTECT, related_name="+"
    )
    decision_note = models.CharField(max_length=200, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["-id"]
        constraints: ClassVar = [
            models.UniqueConstraint(
                fields=["batch"],
                condition=models.Q(state="open"),
                name="proposal_one_open_per_batch",
            ),
            models.CheckConstraint(
                condition=models.Q(state__in=ProposalState.values), name="proposal_state_known"
            ),
        ]

    def __str__(self) -> str:
        """Name the batch and the cause."""
        return f"{self.batch}: {self.cause}"
