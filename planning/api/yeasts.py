"""Yeast freshness over the API."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.quantities import Measure
from boxwort.web.amounts_api import QuantityField
from boxwort.web.operations_api import DayAsked, Reading
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import LotStatus, YeastForm
from planning.queries.yeast import Verdict, yeast_rows


class YeastRunSerializer(serializers.Serializer[Any]):
    """A lot judged for one run line, on its pitch day.

    ``living`` is the living share of the yeast, ``pitched`` the share of the asked pitch that the
    bill's packs give; ``packs_to_target`` is null where the yeast is dead by then.
    """

    run = serializers.CharField(source="run_code")
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    pack_on = serializers.DateField()
    pitch_on = serializers.DateField()
    packs = serializers.IntegerField(help_text="For each kit, on its bill.")
    living = serializers.FloatField()
    pitched = serializers.FloatField()
    packs_to_target = serializers.IntegerField(allow_null=True, help_text="For each kit.")
    enough = serializers.BooleanField(help_text="Whether the lot holds those for every kit.")
    verdict = serializers.ChoiceField(choices=[(word.value, word.value) for word in Verdict])
    advice = serializers.CharField()
    working = WorkingSerializer()


class YeastKitSerializer(serializers.Serializer[Any]):
    """How long a lot can serve a kit; null where not even today."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    packs = serializers.IntegerField()
    full_until = serializers.DateField(allow_null=True)
    serves_until = serializers.DateField(allow_null=True)
    pack_until = serializers.DateField(allow_null=True)


class YeastLotSerializer(serializers.Serializer[Any]):
    """A yeast lot on the day of the report, with the runs and kits it can serve."""

    lot_id = serializers.IntegerField()
    lot = serializers.CharField(source="code")
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    form = serializers.ChoiceField(choices=YeastForm.choices)
    status = serializers.ChoiceField(choices=LotStatus.choices)
    expired = serializers.BooleanField()
    packaged_on = serializers.DateField(allow_null=True)
    best_before_on = serializers.DateField(allow_null=True)
    on_hand = QuantityField(measure=Measure.COUNT)
    reserved = QuantityField(measure=Measure.COUNT)
    living = serializers.FloatField(help_text="A share.")
    cells_per_pack = serializers.FloatField(help_text="Of fresh liquid yeast.")
    working = WorkingSerializer()
    runs = YeastRunSerializer(many=True)
    kits = YeastKitSerializer(many=True)


class YeastReportSerializer(serializers.Serializer[Any]):
    """Every yeast lot on hand."""

    lots = YeastLotSerializer(many=True)


class YeastReport(Reading):
    """Return how fresh each yeast lot is, and which runs and kits it can serve."""

    query = DayAsked
    answer = YeastReportSerializer

    def found(self, **asked: Any) -> dict[str, Any]:
        return {"lots": yeast_rows(asked.get("on"))}
