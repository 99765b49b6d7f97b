"""Shapes of dispatch over the API: what would leave, what is picked, and what left."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.web.amounts_api import QuantityField
from boxwort.web.operations_api import CodeField, VersionAsked, not_to_come
from inventory.models import Lot
from inventory.models.items import MEASURE_CHOICES
from planning.engine.boxes import Share
from planning.queries.dispatch_boxes import Picks
from planning.queries.dispatch_offers import OrderChoice
from planning.queries.dispatches import DispatchDetail

MOST_LINES = 200
MOST_PICKS = 1000
MOST_BOXES = 10**15


class LotOfferSerializer(serializers.Serializer[Any]):
    """A lot that could go, and how many boxes it is proposed for."""

    lot = serializers.CharField(source="lot.code")
    item = serializers.CharField(source="lot.item.code")
    best_before_on = serializers.DateField(source="lot.best_before_on", allow_null=True)
    per_box = serializers.IntegerField(help_text="Whole units of stock.")
    fills = serializers.IntegerField(help_text="Boxes that what is free of it fills.")
    boxes = serializers.IntegerField(help_text="Boxes it is proposed for.")
    refused = serializers.CharField(source="verdict.refused", help_text="Why it cannot go.")
    note = serializers.CharField(source="verdict.note")
    stands_in = serializers.CharField(help_text="What it was approved to stand in for.")


class RowChoiceSerializer(serializers.Serializer[Any]):
    """One kind of thing in the boxes of a line; of an extra, boxes are whole units of stock."""

    key = serializers.CharField(help_text="Of the kit's bill, or kit, ice or extra.")
    name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    per_box = QuantityField()
    wanted = serializers.IntegerField()
    short = serializers.IntegerField()
    is_yeast = serializers.BooleanField()
    pick = serializers.CharField(help_text="Crushed or whole, of grain.")
    remedies = serializers.ListField(child=serializers.CharField())
    offers = LotOfferSerializer(many=True)


class LineChoiceSerializer(serializers.Serializer[Any]):
    """What would leave of one line."""

    line_id = serializers.IntegerField(source="line.pk")
    name = serializers.CharField()
    brew_on = serializers.DateField()
    wanted = serializers.IntegerField()
    ready = serializers.IntegerField()
    rows = RowChoiceSerializer(many=True)


class OrderChoiceSerializer(serializers.Serializer[OrderChoice]):
    """What would leave for an order on one day."""

    order_id = serializers.IntegerField(source="order.pk")
    order = serializers.CharField(source="order.code")
    version = serializers.IntegerField(source="order.version")
    shipped_on = serializers.DateField(source="way.shipped_on")
    arrives_on = serializers.DateField(source="way.arrives_on")
    ships = serializers.BooleanField(help_text="Boxes leave for its zone on this day.")
    next_ship_on = serializers.DateField(allow_null=True)
    complete = serializers.BooleanField()
    promised = serializers.ListField(child=serializers.CharField())
    lines = LineChoiceSerializer(many=True)


class ShortInOrderSerializer(serializers.Serializer[Any]):
    """Something that is short for an order, and what to do."""

    name = serializers.CharField()
    amount = serializers.CharField()
    remedies = serializers.ListField(child=serializers.CharField())


class BoardRowSerializer(serializers.Serializer[Any]):
    """An order that has still to leave."""

    order_id = serializers.IntegerField()
    order = serializers.CharField(source="code")
    customer = serializers.CharField()
    zone = serializers.CharField()
    promised_on = serializers.DateField()
    leaves_on = serializers.DateField(allow_null=True)
    late = serializers.BooleanField()
    kits = serializers.IntegerField()
    kits_ready = serializers.IntegerField()
    complete = serializers.BooleanField()
    lacking = ShortInOrderSerializer(many=True)


class PickAsked(serializers.Serializer[Any]):
    """Boxes of a line that take one kind of thing from a lot."""

    key = serializers.CharField(max_length=24)
    lot = CodeField(Lot.objects.all())
    boxes = serializers.IntegerField(
        min_value=1, max_value=MOST_BOXES, help_text="Of an extra, whole units of stock."
    )


class LinePicksAsked(serializers.Serializer[Any]):
    """What leaves of one line."""

    line_id = serializers.IntegerField()
    picks = PickAsked(many=True, max_length=MOST_PICKS)  # type: ignore[call-arg]  # of the list


class DispatchAsked(VersionAsked):
    """What leaves and when; without lines, what is proposed for that day."""

    shipped_on = serializers.DateField(validators=[not_to_come])
    lines = LinePicksAsked(  # type: ignore[call-arg]  # of the list
        many=True, required=False, max_length=MOST_LINES
    )

    def validate_lines(self, value: list[dict[str, Any]]) -> Picks:
        """Return the picks by line and by kind of thing."""
        return {
            line["line_id"]: {
                key: [
                    Share(lot=pick["lot"].pk, boxes=pick["boxes"])
                    for pick in line["picks"]
                    if pick["key"] == key
                ]
                for key in (pick["key"] for pick in line["picks"])
            }
            for line in value
        }


class UndoDispatchAsked(VersionAsked):
    """The version of the dispatch, and why it is undone."""

    reason = serializers.CharField(max_length=200)


class PartSerializer(serializers.Serializer[Any]):
    """Something added to each box."""

    key = serializers.CharField(source="content.key")
    item = serializers.CharField(source="content.code")
    lot = serializers.CharField(source="content.lot")
    measure = serializers.ChoiceField(source="content.measure", choices=MEASURE_CHOICES)
    per_box = serializers.IntegerField(source="content.per_box")
    quantity = serializers.IntegerField(source="content.quantity")
    crushed = serializers.BooleanField(source="content.crushed")
    words = serializers.ListField(child=serializers.CharField())


class BatchInBoxSerializer(serializers.Serializer[Any]):
    """The sheet in use of a batch in the box."""

    batch = serializers.CharField()
    id = serializers.IntegerField()


class BoxSerializer(serializers.Serializer[Any]):
    """Boxes alike, as they left."""

    kit = serializers.CharField(source="content.kit.code")
    lot = serializers.CharField(source="content.lot")
    quantity = serializers.IntegerField(source="content.quantity")
    brew_on = serializers.DateField()
    best_before_on = serializers.DateField(allow_null=True)
    allergens = serializers.ListField(source="content.allergens", child=serializers.CharField())
    parts = PartSerializer(many=True)
    sheets = BatchInBoxSerializer(many=True)


class ExtraSerializer(serializers.Serializer[Any]):
    """An extra that left beside the kits."""

    item = serializers.CharField(source="content.code")
    lot = serializers.CharField(source="content.lot")
    measure = serializers.ChoiceField(source="content.measure", choices=MEASURE_CHOICES)
    quantity = serializers.IntegerField(source="content.quantity")
    best_before_on = serializers.DateField(allow_null=True)


class DispatchSerializer(serializers.Serializer[Any]):
    """One dispatch in a list."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    order_id = serializers.IntegerField()
    order = serializers.CharField(source="order_code")
    customer = serializers.CharField()
    shipped_on = serializers.DateField()
    arrives_on = serializers.DateField()
    kits = serializers.IntegerField()
    undone_at = serializers.DateTimeField(allow_null=True)


class DispatchDetailSerializer(serializers.Serializer[DispatchDetail]):
    """A dispatch with its boxes and its extras."""

    id = serializers.IntegerField(source="row.id")
    version = serializers.IntegerField()
    code = serializers.CharField(source="row.code")
    order_id = serializers.IntegerField(source="row.order_id")
    order = serializers.CharField(source="row.order_code")
    order_state = serializers.CharField(help_text="open, dispatched or cancelled.")
    customer = serializers.CharField(source="row.customer")
    shipped_on = serializers.DateField(source="row.shipped_on")
    arrives_on = serializers.DateField(source="row.arrives_on")
    undone_at = serializers.DateTimeField(source="row.undone_at", allow_null=True)
    boxes = BoxSerializer(many=True)
    extras = ExtraSerializer(many=True)


class DispatchesAsked(serializers.Serializer[Any]):
    """Which dispatches."""

    order_id = serializers.IntegerField(required=False)
