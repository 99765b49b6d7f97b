"""Recipes and kits as the API shows them."""

from __future__ import annotations

from typing import Any

from drf_spectacular.utils import extend_schema_field
from rest_framework import serializers

from boxwort.quantities import Measure
from boxwort.web.amounts_api import MoneyField, QuantityField
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import ItemKind, YeastForm
from inventory.models.items import MEASURE_CHOICES
from recipes.models import Contents, Part, RevisionState
from recipes.models.methods import METHOD_CHOICES, ROLE_CHOICES, USE_CHOICES
from recipes.queries.brew_day import kit_brew_day
from recipes.queries.kits import KitDetail


class RevisionSerializer(serializers.Serializer[Any]):
    """One numbered state of a recipe; from offered on, nothing that moves its figures changes."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    number = serializers.IntegerField()
    state = serializers.ChoiceField(choices=RevisionState.choices)
    reason = serializers.CharField()
    content_hash = serializers.CharField()
    offered_at = serializers.DateTimeField(allow_null=True)
    offered_by = serializers.CharField()


class RecipeSerializer(serializers.Serializer[Any]):
    """A recipe with its revisions, newest first."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    style = serializers.CharField()  # type: ignore[assignment]  # a field
    notes = serializers.CharField()
    offered_number = serializers.IntegerField(
        allow_null=True, help_text="The newest offered revision."
    )
    revisions = RevisionSerializer(many=True)


class FiguresSerializer(serializers.Serializer[Any]):
    """The figures of a brew, each with its working; power is null when nothing is mashed."""

    og = WorkingSerializer()
    fg = WorkingSerializer()
    abv = WorkingSerializer()
    ibu = WorkingSerializer()
    srm = WorkingSerializer()
    boil_gravity = WorkingSerializer()
    power = WorkingSerializer(allow_null=True)


class LineSerializer(serializers.Serializer[Any]):
    """One addition of a method, for the method's volume."""

    position = serializers.IntegerField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    use = serializers.ChoiceField(choices=USE_CHOICES)
    minutes = serializers.IntegerField()
    quantity = QuantityField()
    role = serializers.ChoiceField(choices=ROLE_CHOICES, allow_blank=True)
    reference_alpha = serializers.FloatField(allow_null=True, help_text="A share.")
    note = serializers.CharField()


class MethodSerializer(serializers.Serializer[Any]):
    """One way to brew a revision; figures are null where ``problem`` says why."""

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=METHOD_CHOICES)
    finished_volume = QuantityField(measure=Measure.VOLUME)
    pre_boil_volume = QuantityField(measure=Measure.VOLUME)
    post_boil_volume = QuantityField(measure=Measure.VOLUME)
    boil_minutes = serializers.IntegerField()
    mash_efficiency = serializers.FloatField(help_text="A share.")
    mash_temperature_c = serializers.FloatField(allow_null=True)
    ferment_temperature_c = serializers.FloatField()
    steps = serializers.CharField()
    lines = LineSerializer(many=True)
    figures = FiguresSerializer(allow_null=True)
    problem = serializers.CharField()


class YeastOptionSerializer(serializers.Serializer[Any]):
    """A yeast that a revision may be pitched with, the usual one first."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    form = serializers.ChoiceField(choices=YeastForm.choices)
    attenuation = serializers.FloatField(help_text="Apparent, a share.")


class ObstacleSerializer(serializers.Serializer[Any]):
    """One reason why a revision cannot be offered yet."""

    code = serializers.CharField()
    what = serializers.CharField()
    remedy = serializers.CharField()


class RecipeDetailSerializer(serializers.Serializer[Any]):
    """A recipe with the methods of one revision."""

    recipe = RecipeSerializer()
    revision = RevisionSerializer(allow_null=True)
    methods = MethodSerializer(many=True)
    yeasts = YeastOptionSerializer(many=True)
    obstacles = ObstacleSerializer(many=True)


class KitSerializer(serializers.Serializer[Any]):
    """A kit; its figures are null until it is offered."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    recipe = serializers.CharField(source="recipe_code")
    recipe_name = serializers.CharField()
    style = serializers.CharField()  # type: ignore[assignment]  # a field
    revision_number = serializers.IntegerField()
    revision_state = serializers.ChoiceField(choices=RevisionState.choices)
    method = serializers.ChoiceField(choices=METHOD_CHOICES, source="method_kind")
    volume = QuantityField(measure=Measure.VOLUME)
    shelf_days = serializers.IntegerField()
    contents = serializers.ChoiceField(choices=Contents.choices)
    price = MoneyField()
    offered = serializers.BooleanField()
    target_ibu = serializers.FloatField(allow_null=True)
    og = serializers.FloatField(allow_null=True)
    fg = serializers.FloatField(allow_null=True)
    abv = serializers.FloatField(allow_null=True, help_text="Per cent by volume.")
    ibu = serializers.FloatField(allow_null=True)
    srm = serializers.FloatField(allow_null=True)


class BillRowSerializer(serializers.Serializer[Any]):
    """One row of the bill of one kit; ``exact`` is in the unit of ``packed``, unrounded."""

    key = serializers.CharField()
    position = serializers.IntegerField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    use = serializers.ChoiceField(choices=USE_CHOICES, allow_blank=True)
    minutes = serializers.IntegerField()
    part = serializers.ChoiceField(choices=Part.choices)
    exact = serializers.FloatField()
    packed = QuantityField()
    reason = serializers.CharField(help_text="Why packed is not exact.")
    overage = serializers.FloatField(help_text="A share, on top of what goes in the box.")
    role = serializers.ChoiceField(choices=ROLE_CHOICES, allow_blank=True)
    reference_alpha = serializers.FloatField(allow_null=True, help_text="A share.")
    ibu_per_gram = serializers.FloatField(allow_null=True, help_text="Per unit of alpha.")
    is_yeast_option = serializers.BooleanField()


class KitDetailSerializer(serializers.Serializer[Any]):
    """A kit with its figures and bill: frozen once offered, as it would be until then."""

    kit = KitSerializer(source="row")
    yeast_part = serializers.ChoiceField(choices=Part.choices)
    grain_part = serializers.ChoiceField(choices=Part.choices)
    first_pack_on = serializers.DateField(allow_null=True)
    last_pack_on = serializers.DateField(allow_null=True)
    last_sale_on = serializers.DateField(allow_null=True)
    minimum_kits = serializers.IntegerField(help_text="The least kits of a run.")
    multiple_kits = serializers.IntegerField(help_text="A run is a multiple of these kits.")
    hop_pack = serializers.CharField(
        source="hop_pack.code",
        default=None,
        allow_null=True,
        help_text="The code of the hop pack that its hops come in.",
    )
    boil_minutes = serializers.IntegerField()
    pre_boil_volume = QuantityField(measure=Measure.VOLUME)
    post_boil_volume = QuantityField(measure=Measure.VOLUME)
    mash_temperature_c = serializers.FloatField(allow_null=True)
    ferment_temperature_c = serializers.FloatField()
    steps = serializers.CharField()
    figures = FiguresSerializer(allow_null=True)
    brew_day = serializers.SerializerMethodField(help_text="Mash water, priming, carbonation.")
    bill = BillRowSerializer(many=True)
    allergens = serializers.ListField(child=serializers.CharField())
    problem = serializers.CharField(help_text="Why there are no figures, or it cannot be offered.")

    @extend_schema_field(WorkingSerializer(many=True))
    def get_brew_day(self, kit: KitDetail) -> Any:
        """Return the figures of the brew day, by what is packed."""
        figures: Any = kit_brew_day(kit.row.id, kit.bill).workings
        return WorkingSerializer(figures, many=True).data


class BillTotalSerializer(serializers.Serializer[Any]):
    """One row of the bill of a number of kits: total is per kit times kits, and overage."""

    key = serializers.CharField()
    position = serializers.IntegerField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    use = serializers.ChoiceField(choices=USE_CHOICES, allow_blank=True)
    minutes = serializers.IntegerField()
    part = serializers.ChoiceField(choices=Part.choices)
    per_kit = QuantityField()
    overage = QuantityField()
    overage_share = serializers.FloatField()
    total = QuantityField()
    reason = serializers.CharField()
    is_yeast_option = serializers.BooleanField()
