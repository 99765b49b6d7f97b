"""People, what they did, the requests they made, and the site's settings."""

from __future__ import annotations

from typing import Any, ClassVar

from django.contrib.auth.models import AbstractUser
from django.db import models

from boxwort.roles import Right, Role, may
from boxwort.weekdays import EVERY_DAY

ROLE_CHOICES = [(role.value, role.value.capitalize()) for role in Role]
UNIT_CHOICES = [("metric", "Metric (g, kg, L)"), ("us", "US customary (oz, lb, US gal)")]
PACKING_CHOICES = [
    ("loose", "Loose, in air"),
    ("airtight", "Airtight"),
    ("barrier", "Oxygen barrier, vacuum or inert gas"),
]
# the values are those of the arithmetic of recipes, which this package may not know
PRIMING_RULE_CHOICES = [
    ("stoichiometry", "Stoichiometry: every molecule of sugar counts"),
    ("brewing_text", "Brewing texts: 8 % less sugar"),
]

WEEKDAYS = "^0?1?2?3?4?5?6?$"
"""Weekdays are written as their numbers in order, 0 for Monday: ``"01234"`` is Monday to Friday."""


class User(AbstractUser):
    """A person who signs in, with one role and the units they read."""

    role = models.CharField(max_length=16, choices=ROLE_CHOICES, default=Role.VIEWER.value)
    units = models.CharField(max_length=8, choices=UNIT_CHOICES, default="metric")

    class Meta(AbstractUser.Meta):
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(role__in=[role.value for role in Role]), name="user_role_known"
            )
        ]

    @property
    def named(self) -> str:
        """The person as others know them: by full name, or by the name they sign in with."""
        return self.get_full_name() or self.username

    def may(self, right: Right) -> bool:
        """Return whether this person holds the right (an inactive person holds none)."""
        return self.is_active and may(self.role, right)


class Versioned(models.Model):
    """What people edit: two people who start from the same version cannot both win."""

    version = models.PositiveIntegerField(default=1)

    class Meta:
        abstract = True


class History(models.Model):
    """One thing a person did to one row. Inserted, never changed."""

    at = models.DateTimeField(auto_now_add=True, db_index=True)
    by = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    thing = models.CharField(max_length=64)
    thing_id = models.BigIntegerField()
    action = models.CharField(max_length=64)
    before = models.JSONField(default=dict)
    after = models.JSONField(default=dict)

    class Meta:
        indexes: ClassVar = [models.Index(fields=["thing", "thing_id"], name="history_thing")]
        ordering: ClassVar = ["-id"]

    def __str__(self) -> str:
        """Say what was done to what."""
        return f"{self.action} {self.thing} {self.thing_id}"


class Request(models.Model):
    """A request already answered: asked again with the same key, it gets the same answer."""

    actor = models.ForeignKey(User, on_delete=models.PROTECT, related_name="+")
    key = models.CharField(max_length=80)
    fingerprint = models.CharField(max_length=64)
    result: models.JSONField[Any, Any] = models.JSONField(default=dict)
    at = models.DateTimeField(auto_now_add=True)

    class Meta:
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["actor", "key"], name="request_key_once_per_actor")
        ]

    def __str__(self) -> str:
        """Name the key."""
        return self.key


class SiteSettings(Versioned):
    """One row: the producer's name and the house rules of packing."""

    producer = models.CharField(max_length=80, default="My kit works")
    pouch_resolution_mg = models.PositiveIntegerField(default=500)
    scale_division_mg = models.PositiveIntegerField(default=100)
    minimum_batch_kits = models.PositiveIntegerField(default=5)
    pouch_packing = models.CharField(max_length=8, choices=PACKING_CHOICES, default="barrier")
    pouch_temperature_c = models.FloatField(default=15.0)  # noqa: TID251 - a measured property
    currency = models.CharField(max_length=3, default="USD")
    # utilisation of each form relative to pellets; equal until the house has measured its own
    form_factor_pellet = models.FloatField(default=1.0)  # noqa: TID251 - a ratio
    form_factor_cone = models.FloatField(default=1.0)  # noqa: TID251 - a ratio
    form_factor_plug = models.FloatField(default=1.0)  # noqa: TID251 - a ratio
    transit_days = models.PositiveIntegerField(default=3)
    transit_temperature_c = models.FloatField(default=20.0)  # noqa: TID251 - a measured property
    yeast_shelf_temperature_c = models.FloatField(default=5.0)  # noqa: TID251 - measured
    # new cells that a litre of starter grows, in thousand million
    starter_billion_per_l = models.FloatField(default=50.0)  # noqa: TID251 - a count in science
    priming_rule = models.CharField(
        max_length=16, choices=PRIMING_RULE_CHOICES, default="stoichiometry"
    )
    # how many times its reference a hop weight that moves may reach
    most_multiple = models.FloatField(default=2.0)  # noqa: TID251 - a ratio
    # weekdays on which the house works, 0 for Monday; every day until the house says otherwise
    working_weekdays = models.CharField(max_length=7, default=EVERY_DAY)
    # the most kits that the bench packs in a day; none: no limit
    kits_per_day = models.PositiveIntegerField(null=True, blank=True)
    # working days from the packing of a kit to the day it can leave
    pack_lead_days = models.PositiveIntegerField(default=0)
    horizon_weeks = models.PositiveIntegerField(default=26)
    # weeks around an order's own whose forecast it may use up
    consume_back_weeks = models.PositiveIntegerField(default=0)
    consume_forward_weeks = models.PositiveIntegerField(default=0)
    # what keeping stock for a year costs, as a share of its value
    holding_share = models.FloatField(default=0.2)  # noqa: TID251 - a share
    # one standard deviation of a forecast, as a share of it
    forecast_spread = models.FloatField(default=0.3)  # noqa: TID251 - a share
    # stock of which nothing was used for so long is slow
    slow_days = models.PositiveIntegerField(default=120)

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(condition=models.Q(id=1), name="site_settings_single_row"),
            models.CheckConstraint(
                condition=models.Q(pouch_resolution_mg__gt=0, scale_division_mg__gt=0),
                name="site_settings_scales_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(
                    form_factor_pellet__gt=0, form_factor_cone__gt=0, form_factor_plug__gt=0
                ),
                name="site_settings_form_factors_positive",
            ),
            models.CheckConstraint(
                condition=models.Q(most_multiple__gte=1),
                name="site_settings_most_at_least_once",
            ),
            models.CheckConstraint(
                condition=models.Q(working_weekdays__regex=WEEKDAYS)
                & models.Q(horizon_weeks__gte=1, horizon_weeks__lte=104)
                & models.Q(holding_share__gte=0, forecast_spread__gte=0),
                name="site_settings_planning_possible",
            ),
        ]

    def __str__(self) -> str:
        """Name the producer."""
        return self.producer

    @property
    def form_factors(self) -> dict[str, float]:
        """The utilisation of hops by their form, each relative to any other."""
        return {
            "pellet": self.form_factor_pellet,
            "cone": self.form_factor_cone,
            "plug": self.form_factor_plug,
        }


class DayOff(models.Model):
    """A day on which the house does not work, whatever its weekday."""

    on = models.DateField(unique=True)
    name = models.CharField(max_length=80, blank=True, default="")

    class Meta:
        ordering: ClassVar = ["on"]

    def __str__(self) -> str:
        """Name the day."""
        return self.name or str(self.on)
