"""Runs, batches and sheets as the API shows them."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.web.amounts_api import QuantityField
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import ItemKind
from inventory.models.items import MEASURE_CHOICES
from planning.models import BatchState, RunState
from recipes.models.methods import ROLE_CHOICES, USE_CHOICES


class RunSerializer(serializers.Serializer[Any]):
    """A run in a list; ``proposals`` counts those that wait for a decision."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    pack_on = serializers.DateField()
    state = serializers.ChoiceField(choices=RunState.choices)
    kits = serializers.IntegerField()
    lines = serializers.CharField(help_text="What it packs, in words.")
    batches = serializers.IntegerField()
    proposals = serializers.IntegerField()
    note = serializers.CharField()


class StandInSerializer(serializers.Serializer[Any]):
    """A substitute that a line uses; ``packed`` is for one kit."""

    key = serializers.CharField()
    item_name = serializers.CharField()
    stands_for = serializers.CharField()
    approved_by = serializers.CharField()
    packed = QuantityField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)


class RunLineSerializer(serializers.Serializer[Any]):
    """A number of one kit in a run; the usual yeast where none is named."""

    id = serializers.IntegerField()
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    yeast_id = serializers.IntegerField(allow_null=True)
    yeast_name = serializers.CharField()
    substitutes = StandInSerializer(many=True)


class AllocationSerializer(serializers.Serializer[Any]):
    """What a batch takes of one lot for one line of the bill.

    ``reference`` is the packed amount on the bill, ``per_kit`` what every box really gets,
    ``quantity`` what is reserved of the lot and ``used`` what packing took.
    """

    id = serializers.IntegerField()
    key = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    stands_for = serializers.CharField(help_text="What a substitute takes the place of.")
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    use = serializers.ChoiceField(choices=USE_CHOICES, allow_blank=True)
    minutes = serializers.IntegerField(help_text="Of boil, stand or steep in this batch.")
    recipe_minutes = serializers.IntegerField()
    role = serializers.ChoiceField(choices=ROLE_CHOICES, allow_blank=True)
    lot_id = serializers.IntegerField()
    lot = serializers.CharField(source="lot_code")
    reference = QuantityField()
    per_kit = QuantityField()
    quantity = QuantityField()
    used = QuantityField(allow_null=True)
    alpha = serializers.FloatField(allow_null=True, help_text="On brew day, a share.")


class SheetSerializer(serializers.Serializer[Any]):
    """One revision of a batch's sheet; the papers are drawn from its content."""

    id = serializers.IntegerField()
    number = serializers.IntegerField()
    digest = serializers.CharField()
    issued_at = serializers.DateTimeField()
    issued_by = serializers.CharField()
    voided_at = serializers.DateTimeField(allow_null=True)
    void_reason = serializers.CharField()
    content = serializers.DictField()


class TroubleSerializer(serializers.Serializer[Any]):
    """Why an allocation cannot be used as it stands."""

    allocation_id = serializers.IntegerField()
    lot_id = serializers.IntegerField()
    lot = serializers.CharField(source="lot_code")
    item_name = serializers.CharField()
    what = serializers.CharField()


class BatchSerializer(serializers.Serializer[Any]):
    """A batch with what it takes, its sheets newest first, and what is wrong with it."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    number = serializers.IntegerField()
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    packed_kits = serializers.IntegerField(allow_null=True)
    brew_on = serializers.DateField()
    state = serializers.ChoiceField(choices=BatchState.choices)
    allocations = AllocationSerializer(many=True)
    sheets = SheetSerializer(many=True)
    troubles = TroubleSerializer(many=True)
    proposal_id = serializers.IntegerField(allow_null=True, help_text="Waits for a decision.")


class RunDetailSerializer(serializers.Serializer[Any]):
    """A run whole."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    pack_on = serializers.DateField()
    state = serializers.ChoiceField(choices=RunState.choices)
    kits = serializers.IntegerField()
    note = serializers.CharField()
    lines = RunLineSerializer(many=True)
    batches = BatchSerializer(many=True)


class TakenSerializer(serializers.Serializer[Any]):
    """What a batch would take of one lot for one line of the bill."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    stands_for = serializers.CharField(help_text="What a substitute takes the place of.")
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    use = serializers.ChoiceField(choices=USE_CHOICES, allow_blank=True)
    minutes = serializers.IntegerField(help_text="Of boil, stand or steep in this batch.")
    recipe_minutes = serializers.IntegerField()
    role = serializers.ChoiceField(choices=ROLE_CHOICES, allow_blank=True)
    lot_id = serializers.IntegerField()
    lot = serializers.CharField(source="lot_code")
    best_before_on = serializers.DateField(allow_null=True)
    reference = QuantityField()
    per_kit = QuantityField()
    quantity = QuantityField()
    alpha = serializers.FloatField(allow_null=True, help_text="On brew day, a share.")
    ibu = serializers.FloatField(allow_null=True)


class CutBatchSerializer(serializers.Serializer[Any]):
    """A batch as it would be reserved: IBU at the bill's weights and as balanced."""

    kits = serializers.IntegerField()
    brew_on = serializers.DateField()
    hops = TakenSerializer(many=True)
    others = TakenSerializer(many=True)
    ibu_target = serializers.FloatField()
    ibu_reference = serializers.FloatField()
    ibu_balanced = serializers.FloatField()
    ibu_spread = serializers.FloatField(help_text="One standard deviation.")
    working = WorkingSerializer()


class FigureBesideSerializer(serializers.Serializer[Any]):
    """A figure of the kit by design and with the substitute; ``within`` the limit of parity."""

    figure = serializers.CharField()
    design = serializers.FloatField(source="one")
    substituted = serializers.FloatField(source="other")
    unit = serializers.CharField()
    within = serializers.BooleanField()


class StandInOfferSerializer(serializers.Serializer[Any]):
    """What may stand for something that is short, or stands for it already.

    ``original`` and ``per_kit`` are for one kit, ``needed`` for all of them with overage.
    """

    line_id = serializers.IntegerField(source="run_line_id", allow_null=True)
    key = serializers.CharField()
    substitute_id = serializers.IntegerField(allow_null=True)
    stands_for = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    original = QuantityField()
    per_kit = QuantityField()
    needed = QuantityField()
    usable = QuantityField()
    ratio = serializers.FloatField()
    note = serializers.CharField()
    approved_by = serializers.CharField()
    in_use = serializers.BooleanField()
    same_beer = serializers.BooleanField(source="figures.holds")
    figures = FigureBesideSerializer(many=True, source="figures.rows")
    gained = serializers.ListField(child=serializers.CharField(), help_text="Allergens.")
    lost = serializers.ListField(child=serializers.CharField(), help_text="Allergens.")


class CutLineSerializer(serializers.Serializer[Any]):
    """One kit of the run: how many of it are possible, in which batches."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    possible = serializers.IntegerField()
    batches = CutBatchSerializer(many=True)
    limits = serializers.ListField(child=serializers.CharField())
    remedies = serializers.ListField(
        child=serializers.CharField(), help_text="What would lift the limits, in sentences."
    )
    offers = StandInOfferSerializer(many=True)


class ShortSerializer(serializers.Serializer[Any]):
    """An item that the run lacks."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    needed = QuantityField()
    available = QuantityField()
    short = QuantityField()
    kits_possible = serializers.IntegerField()


class CutSerializer(serializers.Serializer[Any]):
    """What reserving the run would do today, or what it lacks."""

    complete = serializers.BooleanField()
    lines = CutLineSerializer(many=True)
    shortages = ShortSerializer(many=True)
