"""Methods of a revision, and their lines."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from inventory.models import Item
from recipes.brewing.roles import HopRole, MethodKind, Use
from recipes.models.recipes import Revision

METHOD_CHOICES = [
    (MethodKind.EXTRACT.value, "Extract with steeped grain"),
    (MethodKind.PARTIAL_MASH.value, "Partial mash"),
    (MethodKind.ALL_GRAIN.value, "All-grain"),
]
USE_CHOICES = [(use.value, use.value.replace("_", " ").capitalize()) for use in Use]
ROLE_CHOICES = [(role.value, role.value.replace("_", " ").capitalize()) for role in HopRole]


#: What a method says of its brew day beside its kind, its volumes and its steps: what another
#: method drafted from it, or the next revision, takes over.
BREW_DAY_FACTS = (
    "boil_minutes",
    "mash_efficiency",
    "mash_temperature_c",
    "ferment_temperature_c",
    "attenuation",
    "stand_minutes",
    "stand_from_c",
    "stand_to_c",
    "first_wort_minutes",
    "carbonation_volumes",
    "heavy_bottles",
    "mash_l_per_kg",
    "grain_temperature_c",
)


class Method(models.Model):
    """One way to brew the revision. Volumes are microlitres of wort at 20 C.

    ``finished_volume`` is the beer the amounts are written for; ``pre_boil_volume`` and
    ``post_boil_volume`` are in the kettle (a partial boil is topped up afterwards).
    ``frozen`` holds the figures with their working, stored when the revision is offered.
    ``attenuation`` is what trial batches of this method showed, where it is not the strain's. A hop
    stand is declared by its minutes and the temperatures it falls between; ``first_wort_minutes``
    is what first-wort hops count for where that is not the whole boil. ``heavy_bottles``: the beer
    goes into bottles that are made for more gas than usual ones.
    """

    revision = models.ForeignKey(Revision, on_delete=models.CASCADE, related_name="methods")
    kind = models.CharField(max_length=12, choices=METHOD_CHOICES)
    finished_volume = models.PositiveBigIntegerField()
    pre_boil_volume = models.PositiveBigIntegerField()
    post_boil_volume = models.PositiveBigIntegerField()
    boil_minutes = models.PositiveIntegerField(default=60)
    mash_efficiency = models.FloatField(default=0.75)  # noqa: TID251 - a share
    mash_temperature_c = models.FloatField(null=True, blank=True)  # noqa: TID251 - measured
    ferment_temperature_c = models.FloatField(default=20.0)  # noqa: TID251 - measured
    attenuation = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share
    stand_minutes = models.PositiveIntegerField(null=True, blank=True)
    stand_from_c = models.FloatField(null=True, blank=True)  # noqa: TID251 - measured
    stand_to_c = models.FloatField(null=True, blank=True)  # noqa: TID251 - measured
    first_wort_minutes = models.PositiveIntegerField(null=True, blank=True)
    carbonation_volumes = models.FloatField(null=True, blank=True)  # noqa: TID251 - volumes of CO2
    heavy_bottles = models.BooleanField(default=False)
    mash_l_per_kg = models.FloatField(null=True, blank=True)  # noqa: TID251 - water to grist
    grain_temperature_c = models.FloatField(null=True, blank=True)  # noqa: TID251 - measured
    steps = models.TextField(blank=True, default="")
    frozen = models.JSONField(default=dict)

    class Meta:
        ordering: ClassVar = ["revision", "kind"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["revision", "kind"], name="method_once_per_revision"),
            models.CheckConstraint(
                condition=models.Q(kind__in=[kind.value for kind in MethodKind]),
                name="method_kind_known",
            ),
            models.CheckConstraint(
                condition=models.Q(finished_volume__gt=0)
                & models.Q(post_boil_volume__gt=0)
                & models.Q(pre_boil_volume__gte=models.F("post_boil_volume")),
                name="method_boils_down",
            ),
            models.CheckConstraint(
                condition=models.Q(mash_efficiency__gt=0, mash_efficiency__lte=1),
                name="method_efficiency_is_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(attenuation__isnull=True)
                | models.Q(attenuation__gt=0, attenuation__lte=1),
                name="method_attenuation_is_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    stand_minutes__isnull=True, stand_from_c__isnull=True, stand_to_c__isnull=True
                )
                | models.Q(
                    stand_minutes__isnull=False,  # a comparison with null would pass a check
                    stand_from_c__isnull=False,
                    stand_to_c__isnull=False,
                    stand_minutes__gt=0,
                    stand_to_c__gte=40,
                    stand_from_c__lte=100,
                    stand_from_c__gte=models.F("stand_to_c"),
                ),
                name="method_stand_cools",
            ),
        ]

    def __str__(self) -> str:
        """Name the method."""
        return self.get_kind_display()


class Line(models.Model):
    """One addition of one item. ``quantity`` is in stock units for the method's volume.

    ``minutes`` is time of contact before the end of the boil (or the steep, or the days of a
    dry hop in minutes left at zero). A hop in the boil has a role in balancing.
    ``reference_alpha`` is the alpha the weight was designed with, as a share. The minutes of an
    addition that moves its time stay between ``least_minutes`` and ``most_minutes``.
    """

    method = models.ForeignKey(Method, on_delete=models.CASCADE, related_name="lines")
    position = models.PositiveSmallIntegerField()
    item = models.ForeignKey(Item, on_delete=models.PROTECT, related_name="+")
    use = models.CharField(max_length=12, choices=USE_CHOICES)
    minutes = models.PositiveIntegerField(default=0)
    quantity = models.PositiveBigIntegerField()
    role = models.CharField(max_length=16, choices=ROLE_CHOICES, blank=True, default="")
    reference_alpha = models.FloatField(null=True, blank=True)  # noqa: TID251 - a share by mass
    least_minutes = models.PositiveIntegerField(null=True, blank=True)
    most_minutes = models.PositiveIntegerField(null=True, blank=True)
    note = models.CharField(max_length=120, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["method", "position"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["method", "position"], name="line_position_once"),
            models.CheckConstraint(condition=models.Q(quantity__gt=0), name="line_quantity"),
            models.CheckConstraint(
                condition=models.Q(role="", reference_alpha__isnull=True)
                | models.Q(
                    role__in=[role.value for role in HopRole],
                    reference_alpha__gt=0,
                    reference_alpha__lt=0.35,
                ),
                name="line_hop_has_role_and_alpha",
            ),
            models.CheckConstraint(
                condition=models.Q(least_minutes__isnull=True, most_minutes__isnull=True)
                | models.Q(
                    role=HopRole.MOVE_TIME.value,
                    least_minutes__isnull=False,
                    most_minutes__isnull=False,
                    least_minutes__lte=models.F("minutes"),
                    most_minutes__gte=models.F("minutes"),
                ),
                name="line_time_moves_within_limits",
            ),
        ]

    def __str__(self) -> str:
        """Say what is added and when."""
        return f"{self.item_id} {self.use} {self.minutes} min"
