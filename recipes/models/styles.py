"""Beer styles: the ranges that a recipe is compared with, imported by the user."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models.codes import code_field

STYLE_FIGURES = ("og", "fg", "abv", "ibu", "srm")


class Style(models.Model):
    """Vital statistics of a style: the least and most of each figure.

    Gravities are SG, alcohol is percent by volume, colour is SRM.
    """

    code = code_field()
    name = models.CharField(max_length=80, unique=True)
    og_min = models.FloatField()  # noqa: TID251 - a published figure
    og_max = models.FloatField()  # noqa: TID251 - a published figure
    fg_min = models.FloatField()  # noqa: TID251 - a published figure
    fg_max = models.FloatField()  # noqa: TID251 - a published figure
    ibu_min = models.FloatField()  # noqa: TID251 - a published figure
    ibu_max = models.FloatField()  # noqa: TID251 - a published figure
    srm_min = models.FloatField()  # noqa: TID251 - a published figure
    srm_max = models.FloatField()  # noqa: TID251 - a published figure
    abv_min = models.FloatField()  # noqa: TID251 - a published figure
    abv_max = models.FloatField()  # noqa: TID251 - a published figure

    class Meta:
        ordering: ClassVar = ["name"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(
                    **{f"{figure}_max__gte": models.F(f"{figure}_min") for figure in STYLE_FIGURES}
                ),
                name="style_ranges_in_order",
            )
        ]

    def __str__(self) -> str:
        """Name the style."""
        return self.name
