"""Items and lots as the API shows them."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.utils import PolymorphicProxySerializer, extend_schema_field
from rest_framework import serializers

from boxwort.web.amounts_api import MoneyField, QuantityField, RowsField
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import (
    Ending,
    HopForm,
    HopSpec,
    ItemKind,
    LotRule,
    LotStatus,
    MaltSpec,
    Packing,
    PlaceKind,
    PostingKind,
    YeastSpec,
)
from inventory.models.analyses import AnalysisKind
from inventory.models.items import MEASURE_CHOICES
from inventory.queries.items import ItemRow
from inventory.queries.lots import LotRow
from inventory.queries.moves import analyses_of, moves_of, reservations_of
from inventory.queries.outlooks import outlook_of


class MaltSpecification(serializers.ModelSerializer[MaltSpec]):
    """What a grain, extract or sugar gives to wort."""

    class Meta:
        model = MaltSpec
        exclude = ["id", "item"]


class HopSpecification(serializers.ModelSerializer[HopSpec]):
    """A hop variety as it is bought; alpha acid is a share, 0.05 for 5 %."""

    class Meta:
        model = HopSpec
        exclude = ["id", "item"]


class YeastSpecification(serializers.ModelSerializer[YeastSpec]):
    """A strain as it is sold."""

    class Meta:
        model = YeastSpec
        exclude = ["id", "item"]


class NoSpecification(serializers.Serializer[Any]):
    """Items of other kinds have none: an empty object."""


class ItemSerializer(serializers.Serializer[ItemRow]):
    """An item with its stock over all lots.

    ``usable`` is on hand and not reserved, of released, unexpired lots.
    """

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    overage = serializers.FloatField(help_text="A share: 0.02 for 2 %.")
    safety_stock = QuantityField()
    shelf_days = serializers.IntegerField(allow_null=True)
    crushed_days = serializers.IntegerField(
        allow_null=True, help_text="How long it keeps once milled."
    )
    opened_days = serializers.IntegerField(
        allow_null=True, help_text="How long it keeps once opened."
    )
    work_loss = serializers.FloatField(
        help_text="The share that repacking, milling or blending usually loses."
    )
    container_quantity = QuantityField(
        allow_null=True, help_text="It goes in a kit only in whole containers of this size."
    )
    lot_rule = serializers.ChoiceField(
        choices=LotRule.choices, help_text="How net requirements become orders."
    )
    fixed_quantity = QuantityField(allow_null=True)
    period_days = serializers.IntegerField(
        allow_null=True, help_text="What an order covers; null: as long as it keeps."
    )
    order_cost = MoneyField(help_text="What placing an order costs.")
    quarantine_days = serializers.IntegerField(
        help_text="How long arrivals are checked before they can be used."
    )
    allergens = serializers.ListField(child=serializers.CharField())
    notes = serializers.CharField()
    active = serializers.BooleanField()
    lots = serializers.IntegerField(help_text="How many lots of it there ever were.")
    on_hand = QuantityField()
    reserved = QuantityField()
    usable = QuantityField()
    specification = serializers.SerializerMethodField()

    @extend_schema_field(
        PolymorphicProxySerializer(
            component_name="Specification",
            serializers=[
                MaltSpecification,
                HopSpecification,
                YeastSpecification,
                NoSpecification,
            ],
            resource_type_field_name=None,
        )
    )
    def get_specification(self, row: ItemRow) -> dict[str, Any]:
        """Return the specification of the item's kind."""
        return dict(row.specification)


class HeldSerializer(serializers.Serializer[Any]):
    """How much of a lot lies in one place."""

    place = serializers.CharField(source="place_code")
    name = serializers.CharField(source="place_name")
    quantity = QuantityField()


class LotSerializer(serializers.Serializer[LotRow]):
    """A lot with its stock. ``cost`` was paid for the quantity of ``cost_for``."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    supplier_name = serializers.CharField()
    supplier_lot = serializers.CharField()
    received_on = serializers.DateField()
    packaged_on = serializers.DateField(allow_null=True)
    best_before_on = serializers.DateField(allow_null=True)
    expired = serializers.BooleanField()
    status = serializers.ChoiceField(choices=LotStatus.choices)
    status_reason = serializers.CharField()
    packing = serializers.ChoiceField(choices=Packing.choices, allow_blank=True)
    form = serializers.ChoiceField(
        choices=HopForm.choices, allow_blank=True, help_text="How hops are pressed."
    )
    cost = MoneyField(source="cost_amount")
    cost_for = QuantityField(source="cost_quantity")
    on_hand = QuantityField()
    reserved = QuantityField()
    available = QuantityField(help_text="On hand and not reserved.")
    held = RowsField(HeldSerializer)


class MoveSerializer(serializers.Serializer[Any]):
    """A move of a lot: its change of the stock on hand, and what was on hand after it."""

    posting = serializers.IntegerField(source="posting_id")
    kind = serializers.ChoiceField(choices=PostingKind.choices)
    occurred_on = serializers.DateField()
    recorded_at = serializers.DateTimeField()
    by = serializers.CharField()
    quantity = QuantityField()
    change = QuantityField()
    on_hand = QuantityField()
    from_name = serializers.CharField()
    from_kind = serializers.ChoiceField(choices=PlaceKind.choices)
    to_name = serializers.CharField()
    to_kind = serializers.ChoiceField(choices=PlaceKind.choices)
    reason = serializers.CharField()
    conversion = serializers.CharField(help_text="The work it belongs to, if any.")
    reverses = serializers.IntegerField(source="reverses_id", allow_null=True)
    reversed_by = serializers.IntegerField(source="reversed_by_id", allow_null=True)


class AnalysisSerializer(serializers.Serializer[Any]):
    """A measured value with its unit; superseded once another one stands in its place.

    ``given_value`` and ``given_unit`` are the certificate's, where it writes another unit.
    """

    id = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=AnalysisKind.choices)
    sampled_on = serializers.DateField()
    value = serializers.FloatField()
    unit = serializers.CharField()
    given_value = serializers.FloatField(allow_null=True)
    given_unit = serializers.CharField()
    spread = serializers.FloatField(allow_null=True, help_text="One relative standard deviation.")
    method = serializers.CharField()
    basis = serializers.CharField()
    at_harvest = serializers.BooleanField(help_text="An alpha acid known from the harvest.")
    by = serializers.CharField()
    recorded_at = serializers.DateTimeField()
    superseded = serializers.BooleanField()


class ReservationSerializer(serializers.Serializer[Any]):
    """What is kept of a lot for one line of work; the ending is empty while it is open."""

    id = serializers.IntegerField()
    conversion = serializers.CharField()
    line = serializers.CharField()
    quantity = QuantityField()
    needed_on = serializers.DateField()
    made_at = serializers.DateTimeField()
    ended_at = serializers.DateTimeField(allow_null=True)
    ending = serializers.ChoiceField(choices=Ending.choices, allow_blank=True)


class OutlookSerializer(serializers.Serializer[Any]):
    """What a hop or yeast lot is worth today: alpha acid, or life in the pack, in percent."""

    working = WorkingSerializer()
    index = WorkingSerializer(
        source="index.working",
        allow_null=True,
        default=None,
        help_text="Lost since harvest by the newest storage index of hops.",
    )


class LotDetailSerializer(LotSerializer):
    """A lot with everything that happened to it."""

    moves = serializers.SerializerMethodField()
    analyses = serializers.SerializerMethodField()
    reservations = serializers.SerializerMethodField()
    outlook = serializers.SerializerMethodField()

    @extend_schema_field(OutlookSerializer(allow_null=True))
    def get_outlook(self, row: LotRow) -> Any:
        """Return what a hop or yeast lot is worth today; null of anything else."""
        found = outlook_of(row, timezone.localdate())
        return found and OutlookSerializer(found, context=self.context).data

    @extend_schema_field(MoveSerializer(many=True))
    def get_moves(self, row: LotRow) -> Any:
        """Return the moves in the order they were posted."""
        return MoveSerializer(moves_of(row.id), many=True, context=self._of(row)).data

    @extend_schema_field(AnalysisSerializer(many=True))
    def get_analyses(self, row: LotRow) -> Any:
        """Return the analyses, by kind and newest sample first."""
        return AnalysisSerializer(analyses_of(row.id), many=True).data

    @extend_schema_field(ReservationSerializer(many=True))
    def get_reservations(self, row: LotRow) -> Any:
        """Return the reservations, the open ones first."""
        return ReservationSerializer(reservations_of(row.id), many=True, context=self._of(row)).data

    def _of(self, row: LotRow) -> dict[str, Any]:
        return {**self.context, "measure": row.measure}
