"""Yeast freshness over the API."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.quantities import Measure
from boxwort.web.amounts_api import QuantityField
from boxwort.web.operations_api import DayAsked, Reading
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import LotStatus, YeastForm
from planning.queries.interchange import interchange_rows
from planning.queries.yeast import Verdict, yeast_rows
from planning.queries.yeast_matches import yeast_matches


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
    target = serializers.FloatField(help_text="A share of the pitch, the kit's or the strain's.")
    floor = serializers.FloatField()
    packs_to_target = serializers.IntegerField(allow_null=True, help_text="For each kit.")
    enough = serializers.BooleanField(help_text="Whether the lot holds those for every kit.")
    verdict = serializers.ChoiceField(choices=[(word.value, word.value) for word in Verdict])
    advice = serializers.CharField()
    working = WorkingSerializer()
    starter = WorkingSerializer(allow_null=True, help_text="Litres that grow what is missing.")


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


class YeastMatchRowSerializer(serializers.Serializer[Any]):
    """Kits of one run line from one lot; no lot: none is left for them."""

    run = serializers.CharField(source="run_code")
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    pack_on = serializers.DateField()
    pitch_on = serializers.DateField()
    kits = serializers.IntegerField()
    packs = serializers.IntegerField(help_text="For each kit.")
    lot_id = serializers.IntegerField(allow_null=True)
    lot = serializers.CharField(source="lot_code")
    born_on = serializers.DateField(allow_null=True)
    pitched = serializers.FloatField(allow_null=True, help_text="A share of the pitch.")
    full = serializers.BooleanField(help_text="Whether that reaches the target.")


class YeastMatchSerializer(serializers.Serializer[Any]):
    """Which lot of one yeast serves which run: older lots go to lighter kits."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    rows = YeastMatchRowSerializer(many=True)
    at_target = serializers.IntegerField(help_text="Kits.")
    served = serializers.IntegerField(help_text="Kits at their floor or more.")
    wanted = serializers.IntegerField(help_text="Kits.")
    proved = serializers.BooleanField(help_text="Whether no other way serves them better.")


class InterchangeSerializer(serializers.Serializer[Any]):
    """Another yeast of the strain group of one option of a kit, and what it would change."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    other = serializers.CharField(source="other_code")
    other_name = serializers.CharField()
    other_form = serializers.ChoiceField(choices=YeastForm.choices)
    strain_group = serializers.CharField()
    is_option = serializers.BooleanField(help_text="Whether the kit may be packed with it.")
    lots = serializers.ListField(child=serializers.CharField())
    packs_in_stock = QuantityField(measure=Measure.COUNT)
    attenuation = serializers.FloatField(help_text="A share.")
    other_attenuation = serializers.FloatField(help_text="A share.")
    fg = WorkingSerializer()
    other_fg = WorkingSerializer()
    abv = WorkingSerializer()
    other_abv = WorkingSerializer()
    packs = serializers.IntegerField(help_text="For each kit, on its bill.")
    other_packs = serializers.IntegerField(allow_null=True, help_text="For each kit.")


class YeastReportSerializer(serializers.Serializer[Any]):
    """Every yeast lot on hand, which lot goes to which run, and what could stand in."""

    lots = YeastLotSerializer(many=True)
    matches = YeastMatchSerializer(many=True)
    interchange = InterchangeSerializer(many=True)


class YeastReport(Reading):
    """Return how fresh each yeast lot is, which runs and kits it can serve, and what could too."""

    query = DayAsked
    answer = YeastReportSerializer

    def found(self, **asked: Any) -> dict[str, Any]:
        on = asked.get("on")
        return {
            "lots": yeast_rows(on),
            "matches": yeast_matches(on),
            "interchange": interchange_rows(on),
        }
