"""The figures of batches and what hop lots do, over the API, each with its working."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.papers.printing import Reader
from boxwort.quantities import Measure
from boxwort.web.amounts_api import QuantityField
from boxwort.web.files_api import PaperReading
from boxwort.web.operations_api import Reading
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import Lot
from planning.documents.working_sheet import batch_workings_pdf
from planning.queries.batch_workings import BatchWorkings, batch_workings
from planning.queries.lot_effects import LotEffects, lot_effects


class FigureRowSerializer(serializers.Serializer[Any]):
    """One figure of the beer from a batch's lots, and by design."""

    figure = serializers.CharField()
    made = WorkingSerializer()
    design = WorkingSerializer()
    difference = serializers.FloatField(help_text="Made less design, in the figure's unit.")


class BatchBeerSerializer(serializers.Serializer[Any]):
    """The beer of a batch; without rows, ``problem`` says why."""

    rows = FigureRowSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())
    problem = serializers.CharField()


class BatchWorkingsSerializer(serializers.Serializer[Any]):
    """Every figure of a batch: ``balance`` and ``brew_day`` as its sheet keeps them."""

    batch = serializers.CharField(source="code")
    run = serializers.CharField(source="run_code")
    sheet_number = serializers.IntegerField(allow_null=True)
    balance = WorkingSerializer(many=True)
    alphas = WorkingSerializer(many=True)
    beer = BatchBeerSerializer()
    yeast = WorkingSerializer(many=True)
    best_before = WorkingSerializer(many=True)
    brew_day = WorkingSerializer(many=True)


class LineEffectSerializer(serializers.Serializer[Any]):
    """One hop addition as frozen, and with the lot; minutes of what moves its boil time."""

    key = serializers.CharField()
    name = serializers.CharField()
    role = serializers.CharField()
    before = QuantityField(measure=Measure.MASS, source="before_mg")
    after = QuantityField(measure=Measure.MASS, source="after_mg")
    minutes_before = serializers.IntegerField(allow_null=True)
    minutes_after = serializers.IntegerField(allow_null=True)
    limited = serializers.BooleanField(help_text="Held at what may be packed.")


class KitEffectSerializer(serializers.Serializer[Any]):
    """A kit weighed from the lot."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    brew_on = serializers.DateField()
    alpha = serializers.FloatField(help_text="A share, on brew day.")
    target_ibu = serializers.FloatField()
    ibu_unchanged = serializers.FloatField()
    ibu_corrected = serializers.FloatField()
    limited = serializers.BooleanField()
    lines = LineEffectSerializer(many=True)


class LotEffectsSerializer(serializers.Serializer[LotEffects]):
    """What a hop lot does to every offered kit of its hop; nothing of other lots."""

    kits = KitEffectSerializer(many=True)
    alphas = WorkingSerializer(many=True)


class BatchFigures(Reading):
    """Return every figure of a batch with its working."""

    answer = BatchWorkingsSerializer

    def found(self, **asked: Any) -> BatchWorkings:
        return batch_workings(asked["batch_id"])


class BatchFiguresPaper(PaperReading):
    """Return the figures of a batch with their working, as a paper."""

    name = "figures-batch"

    def drawn(self, reader: Reader, **ids: Any) -> bytes:
        return batch_workings_pdf(batch_workings(ids["batch_id"]), reader=reader)


class LotKitEffects(Reading):
    """Return what a hop lot does to every offered kit that its hop goes into."""

    answer = LotEffectsSerializer

    def found(self, **asked: Any) -> LotEffects:
        return lot_effects(Lot.objects.select_related("item__hop").get(pk=asked["lot_id"]))
