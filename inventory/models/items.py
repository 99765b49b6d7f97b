"""Items: everything that is bought, kept, packed or sold, with its specification."""

from __future__ import annotations

from typing import ClassVar

from django.db import models

from boxwort.accounts.models import PACKING_CHOICES, Versioned
from boxwort.quantities import Measure
from inventory.ageing.yeast import ViabilityRule
from inventory.models.codes import code_field

MEASURE_CHOICES = [(measure.value, measure.value.capitalize()) for measure in Measure]

# EU 1169/2011 Annex II and the US major allergens, as far as kits can hold them.
ALLERGENS = (
    "barley",
    "wheat",
    "rye",
    "oats",
    "milk",
    "egg",
    "fish",
    "crustaceans",
    "molluscs",
    "nuts",
    "peanuts",
    "soybeans",
    "sesame",
    "celery",
    "mustard",
    "lupin",
    "sulphites",
)


class ItemKind(models.TextChoices):
    """What the trade packs."""

    GRAIN = "grain", "Grain"
    EXTRACT = "extract", "Extract"
    SUGAR = "sugar", "Sugar"
    HOP = "hop", "Hop"
    YEAST = "yeast", "Yeast"
    FINING = "fining", "Fining"
    MINERAL = "mineral", "Mineral"
    FLAVOURING = "flavouring", "Flavouring"
    PACKAGING = "packaging", "Packaging"
    PRINTED = "printed", "Printed matter"
    KIT = "kit", "Kit"


class MaltFamily(models.TextChoices):
    """What a fermentable is to a brewer, in the words of ``recipes.brewing.roles.Family``."""

    BASE_MALT = "base_malt", "Base malt"
    HIGH_KILNED = "high_kilned", "Munich or Vienna malt"
    WHEAT_MALT = "wheat_malt", "Wheat malt"
    RYE_MALT = "rye_malt", "Rye malt"
    CRYSTAL = "crystal", "Crystal malt"
    ROASTED = "roasted", "Roasted malt"
    FLAKED_CORN = "flaked_corn", "Flaked corn or rice"
    FLAKED_OATS = "flaked_oats", "Flaked oats, barley or wheat"
    PALE_EXTRACT = "pale_extract", "Pale malt extract"
    MUNICH_EXTRACT = "munich_extract", "Munich malt extract"
    WHEAT_EXTRACT = "wheat_extract", "Wheat malt extract"
    RYE_EXTRACT = "rye_extract", "Rye malt extract"
    SYRUP = "syrup", "Brewing syrup"
    SUCROSE = "sucrose", "Cane, beet or candi sugar"
    GLUCOSE = "glucose", "Corn sugar, anhydrous"
    GLUCOSE_MONOHYDRATE = "glucose_monohydrate", "Corn sugar, monohydrate"
    DEXTRIN = "dextrin", "Lactose or maltodextrin"


class LotRule(models.TextChoices):
    """How net requirements become orders."""

    LOT_FOR_LOT = "lot_for_lot", "Each requirement by itself"
    FIXED = "fixed", "A fixed quantity"
    PERIOD = "period", "What a period needs"
    MINIMUM = "minimum", "A minimum and whole packs"
    LEAST_COST = "least_cost", "Least total cost"


FERMENTABLE_KINDS = (ItemKind.GRAIN, ItemKind.EXTRACT, ItemKind.SUGAR)


class Item(Versioned):
    """A thing with a code. Its measure is fixed once stock of it has moved.

    ``overage`` is the share used on top of what goes in the box (dust, spills, scale drift),
    ``work_loss`` the share that repacking, milling or blending usually loses. An item with a
    ``container_quantity`` goes in the box only in whole containers. ``crushed_days`` and
    ``opened_days`` are how long it keeps once milled or opened.

    ``lot_rule`` turns net requirements into orders: ``fixed_quantity`` each time, or what
    ``period_days`` need (none: as long as it keeps); placing one costs ``order_cost``
    ten-thousandths. What arrives is checked for ``quarantine_days`` before it can be used.
    """

    code = code_field()
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=ItemKind.choices)
    measure = models.CharField(max_length=8, choices=MEASURE_CHOICES)
    overage = models.FloatField(default=0.0)  # noqa: TID251 - a share, not stock
    safety_stock = models.PositiveBigIntegerField(default=0)
    shelf_days = models.PositiveIntegerField(null=True, blank=True)
    crushed_days = models.PositiveIntegerField(null=True, blank=True)
    opened_days = models.PositiveIntegerField(null=True, blank=True)
    work_loss = models.FloatField(default=0.0)  # noqa: TID251 - a share, not stock
    container_quantity = models.PositiveBigIntegerField(null=True, blank=True)
    lot_rule = models.CharField(max_length=12, choices=LotRule.choices, default=LotRule.PERIOD)
    fixed_quantity = models.PositiveBigIntegerField(null=True, blank=True)
    period_days = models.PositiveIntegerField(null=True, blank=True)
    order_cost = models.PositiveBigIntegerField(default=0)
    quarantine_days = models.PositiveIntegerField(default=0)
    allergens = models.JSONField(default=list)
    notes = models.CharField(max_length=200, blank=True, default="")
    active = models.BooleanField(default=True)

    class Meta:
        ordering: ClassVar = ["code"]
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(kind__in=ItemKind.values), name="item_kind_known"
            ),
            models.CheckConstraint(
                condition=models.Q(measure__in=[measure.value for measure in Measure]),
                name="item_measure_known",
            ),
            models.CheckConstraint(
                condition=models.Q(overage__gte=0, overage__lte=0.5), name="item_overage_share"
            ),
            models.CheckConstraint(
                condition=models.Q(work_loss__gte=0, work_loss__lte=0.5),
                name="item_work_loss_share",
            ),
            models.CheckConstraint(
                condition=models.Q(container_quantity__isnull=True)
                | models.Q(container_quantity__gt=0),
                name="item_container_holds_something",
            ),
            models.CheckConstraint(
                condition=models.Q(lot_rule__in=LotRule.values)
                & (~models.Q(lot_rule=LotRule.FIXED) | models.Q(fixed_quantity__gt=0))
                & (models.Q(period_days__isnull=True) | models.Q(period_days__gt=0)),
                name="item_lot_rule_whole",
            ),
        ]

    def __str__(self) -> str:
        """Name the item as people say it."""
        return f"{self.name} ({self.code})"


class MaltSpec(models.Model):
    """What a grain, extract or sugar gives to wort.

    Points are litre-degrees per kilogram (a US point per pound per gallon is 8.3454 of them).
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="malt")
    points_l_per_kg = models.FloatField()  # noqa: TID251 - a measured property
    steep_points_l_per_kg = models.FloatField(default=0.0)  # noqa: TID251 - a measured property
    colour_lovibond = models.FloatField(default=0.0)  # noqa: TID251 - a measured property
    power_lintner = models.FloatField(default=0.0)  # noqa: TID251 - a measured property
    fermentability = models.FloatField(default=1.0)  # noqa: TID251 - a measured property
    must_mash = models.BooleanField(default=False)
    family = models.CharField(max_length=20, choices=MaltFamily.choices, blank=True, default="")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(points_l_per_kg__gte=0, points_l_per_kg__lte=400),
                name="malt_points_possible",
            ),
            models.CheckConstraint(
                condition=models.Q(fermentability__gte=0, fermentability__lte=1.5),
                name="malt_fermentability_possible",
            ),
        ]

    def __str__(self) -> str:
        """Name the item."""
        return f"specification of {self.item_id}"


class HopForm(models.TextChoices):
    """How hops are pressed."""

    PELLET = "pellet", "Pellets"
    CONE = "cone", "Whole cones"
    PLUG = "plug", "Plugs"


class HopSpec(models.Model):
    """A hop variety as it is bought: alpha for planning, and how it keeps."""

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="hop")
    form = models.CharField(max_length=8, choices=HopForm.choices, default=HopForm.PELLET)
    planning_alpha = models.FloatField()  # noqa: TID251 - a share by mass
    lost_in_six_months = models.FloatField()  # noqa: TID251 - a share at 20 C
    packing = models.CharField(max_length=8, choices=PACKING_CHOICES, default="barrier")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(planning_alpha__gt=0, planning_alpha__lt=0.35),
                name="hop_planning_alpha_possible",
            ),
            models.CheckConstraint(
                condition=models.Q(lost_in_six_months__gte=0, lost_in_six_months__lt=1),
                name="hop_loss_is_a_share",
            ),
        ]

    def __str__(self) -> str:
        """Name the item."""
        return f"specification of {self.item_id}"


class CropYear(models.Model):
    """The alpha acid to plan with for deliveries from the day that a crop is sold."""

    item = models.ForeignKey(Item, on_delete=models.CASCADE, related_name="crops")
    year = models.PositiveSmallIntegerField()
    from_on = models.DateField()
    planning_alpha = models.FloatField()  # noqa: TID251 - a share by mass

    class Meta:
        ordering: ClassVar = ["item", "from_on"]
        constraints: ClassVar = [
            models.UniqueConstraint(fields=["item", "year"], name="crop_year_once"),
            models.UniqueConstraint(fields=["item", "from_on"], name="crop_day_once"),
            models.CheckConstraint(
                condition=models.Q(planning_alpha__gt=0, planning_alpha__lt=0.35),
                name="crop_planning_alpha_possible",
            ),
        ]

    def __str__(self) -> str:
        """Name the crop."""
        return f"crop {self.year} of {self.item_id}"


class YeastForm(models.TextChoices):
    """How yeast is sold."""

    LIQUID = "liquid", "Liquid"
    DRY = "dry", "Dry"


class YeastSpec(models.Model):
    """A strain as it is sold: cells or grams in a pack, and how it dies.

    ``target_share`` and ``floor_share`` are shares of the pitch that the strain asks for: below
    target the sheet advises a starter or a second pack, below floor the lot is refused.
    """

    item = models.OneToOneField(Item, on_delete=models.CASCADE, related_name="yeast")
    form = models.CharField(max_length=8, choices=YeastForm.choices)
    attenuation = models.FloatField()  # noqa: TID251 - apparent, a share
    cells_per_pack = models.FloatField(default=0.0)  # noqa: TID251 - a count in science
    pack_grams = models.FloatField(default=0.0)  # noqa: TID251 - dry dose in science
    pitch_million = models.FloatField(default=0.75)  # noqa: TID251 - million per mL per Plato
    dose_g_per_hl = models.FloatField(default=0.0)  # noqa: TID251 - dry dose
    viability_rule = models.CharField(
        max_length=12,
        choices=[(rule.value, rule.value.capitalize()) for rule in ViabilityRule],
        default=ViabilityRule.LINEAR.value,
    )
    target_share = models.FloatField(default=1.0)  # noqa: TID251 - a share of the pitch
    floor_share = models.FloatField(default=0.5)  # noqa: TID251 - a share of the pitch
    strain_group = models.CharField(max_length=40, blank=True, default="")

    class Meta:
        constraints: ClassVar = [
            models.CheckConstraint(
                condition=models.Q(attenuation__gt=0, attenuation__lte=1),
                name="yeast_attenuation_is_a_share",
            ),
            models.CheckConstraint(
                condition=models.Q(form="liquid", cells_per_pack__gt=0, pitch_million__gt=0)
                | models.Q(form="dry", pack_grams__gt=0, dose_g_per_hl__gt=0),
                name="yeast_pack_described",
            ),
            models.CheckConstraint(
                condition=models.Q(floor_share__gt=0, target_share__gte=models.F("floor_share")),
                name="yeast_floor_below_target",
            ),
        ]

    def __str__(self) -> str:
        """Name the item."""
        return f"specification of {self.item_id}"
