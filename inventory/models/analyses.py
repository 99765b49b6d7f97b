"""Analyses: what a laboratory or a certificate says of a lot. Inserted, never changed."""

from __future__ import annotations

from typing import ClassVar

from django.conf import settings
from django.db import models

from inventory.models.lots import Lot


class AnalysisKind(models.TextChoices):
    """What was measured. Values are in the unit of :data:`ANALYSIS_UNITS`."""

    ALPHA = "alpha", "Alpha acid"
    STORAGE_INDEX = "storage_index", "Hop storage index"
    EXTRACT = "extract", "Extract"
    COLOUR = "colour", "Colour"
    MOISTURE = "moisture", "Moisture"
    POWER = "power", "Enzyme power"
    CELLS = "cells", "Cells per pack"
    VIABILITY = "viability", "Viability"


ANALYSIS_UNITS = {
    AnalysisKind.ALPHA: "share",
    AnalysisKind.STORAGE_INDEX: "ratio",
    AnalysisKind.EXTRACT: "L-degrees/kg",
    AnalysisKind.COLOUR: "degrees L",
    AnalysisKind.MOISTURE: "share",
    AnalysisKind.POWER: "degrees Lintner",
    AnalysisKind.CELLS: "cells",
    AnalysisKind.VIABILITY: "share",
}
SHARE_KINDS = tuple(kind for kind, unit in ANALYSIS_UNITS.items() if unit == "share")
METHOD_CHOICES = [
    ("spectrophotometric", "Spectrophotometric"),
    ("conductometric", "Conductometric"),
    ("hplc", "HPLC"),
    ("certificate", "As the certificate says"),
    ("count", "Cell count"),
]
COMPUTED = ("computed", "Blend, computed")
"""Not a method of measuring: the weighted mean of what was blended, aged to that day."""
METHOD_NAMES = dict([*METHOD_CHOICES, COMPUTED])
BASIS_CHOICES = [("as_is", "As is"), ("dry", "Dry")]
#: What may be given on dry matter, and is then worth (1 - moisture) of it in the lot as it is.
DRY_KINDS = (AnalysisKind.ALPHA, AnalysisKind.EXTRACT, AnalysisKind.POWER)
#: What changes the alpha acid reckoned with: the reading itself, how it ages, what it is put to.
ALPHA_KINDS = (AnalysisKind.ALPHA, AnalysisKind.STORAGE_INDEX, AnalysisKind.MOISTURE)


class Analysis(models.Model):
    """One measured value of a lot; ageing starts on the day the sample was taken.

    ``given_value`` and ``given_unit`` are as the paper has them where ``value`` was converted.
    ``at_harvest`` marks an alpha acid known from the harvest, not from this lot's own sample.
    """

    lot = models.ForeignKey(Lot, on_delete=models.PROTECT, related_name="analyses")
    kind = models.CharField(max_length=16, choices=AnalysisKind.choices)
    sampled_on = models.DateField()
    value = models.FloatField()  # noqa: TID251 - a measured property
    spread = models.FloatField(null=True, blank=True)  # noqa: TID251 - one s.d., relative
    method = models.CharField(
        max_length=20,
        choices=[*METHOD_CHOICES, COMPUTED],
        default="certificate",
    )
    basis = models.CharField(max_length=8, choices=BASIS_CHOICES, default="as_is")
    at_harvest = models.BooleanField(default=False)
    given_value = models.FloatField(null=True, blank=True)  # noqa: TID251 - a measured property
    given_unit = models.CharField(max_length=24, blank=True, default="")
    supersedes = models.OneToOneField("self", null=True, blank=True, on_delete=models.PROTECT)
    recorded_at = models.DateTimeField(auto_now_add=True)
    by = models.ForeignKey(settings.AUTH_USER_MODEL, on_delete=models.PROTECT, related_name="+")

    class Meta:
        ordering: ClassVar = ["lot", "kind", "-sampled_on", "-id"]
        indexes: ClassVar = [models.Index(fields=["lot", "kind"], name="analysis_lot_kind")]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=AnalysisKind.values), name="analysis_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(value__gte=0), name="analysis_value_not_negative"
            ),
            models.CheckConstraint(
                condition=~models.Q(kind__in=SHARE_KINDS) | models.Q(value__lte=1),
                name="analysis_share_at_most_one",
            ),
        ]

    def __str__(self) -> str:
        """Say what was measured."""
        return f"{self.kind} of {self.lot_id}"
