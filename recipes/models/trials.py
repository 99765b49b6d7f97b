"""Trial batches: what came out when a method was brewed."""

from __future__ import annotations

from typing import Any, ClassVar

from django.conf import settings
from django.db import models

from boxwort.accounts.models import Versioned
from inventory.models import Conversion
from inventory.models.codes import code_field
from recipes.models.methods import Method
from recipes.models.recipes import Revision


class TrialBatch(Versioned):
    """One brew of a method, as measured.

    ``measured_volume`` is microlitres of wort at 20 C into the fermenter, gravities are SG; the
    final gravity follows weeks later. ``content`` is the method as it was brewed: a draft may have
    changed since. ``conversion`` used the stock it was brewed from;
    ``accepted_revision`` is the revision that took its calibration over.
    """

    code = code_field()
    method = models.ForeignKey(Method, on_delete=models.PROTECT, related_name="trials")
    brewed_on = models.DateField()
    measured_og = models.FloatField()  # noqa: TID251 - a measured property
    measured_fg = models.FloatField(null=True, blank=True)  # noqa: TID251 - a measured property
    measured_volume = models.PositiveBigIntegerField()
    content: models.JSONField[Any, Any] = models.JSONField(default=dict)
    note = models.CharField(max_length=400, blank=True, default="")
    recorded_by = models.ForeignKey(
        settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+"
    )
    conversion = models.OneToOneField(
        Conversion, null=True, blank=True, on_delete=models.PROTECT, related_name="trial"
    )
    accepted_revision = models.ForeignKey(
        Revision, null=True, blank=True, on_delete=models.PROTECT, related_name="calibrated_by"
    )

    class Meta:
        ordering: ClassVar = ["-brewed_on", "code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(measured_og__gt=1, measured_og__lt=1.2, measured_volume__gt=0),
                name="trial_measured",
            ),
            models.CheckConstraint(
                condition=models.Q(measured_fg__isnull=True)
                | models.Q(measured_fg__gt=0.98, measured_fg__lte=models.F("measured_og")),
                name="trial_fermented",
            ),
        ]

    def __str__(self) -> str:
        """Name the trial by its code."""
        return self.code
