"""Shapes of purchase orders, their receipts and the cost of kits over the API."""

from __future__ import annotations

from typing import Any

from rest_framework import serializers

from boxwort.web.amounts_api import AmountAsked, MoneyAsked, MoneyField, QuantityField
from boxwort.web.operations_api import CodeField, VersionAsked, not_far_off, not_to_come
from boxwort.web.workings_api import WorkingSerializer
from inventory.models import Place, PlaceKind, Supplier
from inventory.models.codes import CODE_LENGTH
from inventory.models.items import MEASURE_CHOICES
from planning.models import OrderState
from planning.queries.purchase_orders import OrderDetail

MOST_LINES = 500


class OrderLineSerializer(serializers.Serializer[Any]):
    """A line of an order; ``left`` is still awaited."""

    id = serializers.IntegerField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    supplier_item_code = serializers.CharField()
    contract = serializers.CharField(source="contract_code")
    packs = serializers.IntegerField(allow_null=True)
    pack_quantity = QuantityField(allow_null=True)
    pack_price = MoneyField(allow_null=True)
    quantity = QuantityField()
    received = QuantityField()
    left = QuantityField()
    cost = MoneyField(allow_null=True)
    due_on = serializers.DateField()
    need_by = serializers.DateField(allow_null=True)
    order_by = serializers.DateField(allow_null=True)
    runs = serializers.CharField()
    ended = serializers.BooleanField(help_text="The rest will not come.")
    late = serializers.BooleanField()
    difference = serializers.CharField(help_text="How what came differs from what was ordered.")


class ReceiptLineSerializer(serializers.Serializer[Any]):
    """What came of one line: ``landed`` is its price with its share of the freight."""

    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    lot = serializers.CharField(source="lot_code")
    supplier_lot = serializers.CharField()
    quantity = QuantityField()
    damaged = QuantityField()
    damage = serializers.CharField()
    price = MoneyField()
    landed = MoneyField()
    dearer = serializers.FloatField(
        allow_null=True, help_text="Share by which a unit cost more than in the delivery before."
    )


class ReceiptSerializer(serializers.Serializer[Any]):
    """One delivery."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    version = serializers.IntegerField()
    received_on = serializers.DateField()
    delivery_note = serializers.CharField()
    freight = MoneyField()
    received_by = serializers.CharField()
    undone = serializers.BooleanField()
    lines = ReceiptLineSerializer(many=True)


class OrderSerializer(serializers.Serializer[Any]):
    """An order in the list; ``order_by`` is when a draft must be sent."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    version = serializers.IntegerField()
    supplier = serializers.CharField(source="supplier_code")
    supplier_name = serializers.CharField()
    state = serializers.ChoiceField(choices=OrderState.choices)
    ordered_on = serializers.DateField()
    note = serializers.CharField()
    lines = serializers.IntegerField()
    total = MoneyField()
    unpriced = serializers.IntegerField(help_text="Lines that the total leaves out.")
    due_on = serializers.DateField(allow_null=True, help_text="The next delivery.")
    order_by = serializers.DateField(allow_null=True)
    late = serializers.BooleanField()
    past_due = serializers.BooleanField()


class OrderDetailSerializer(serializers.Serializer[OrderDetail]):
    """An order with its lines and receipts."""

    order = OrderSerializer()
    lines = OrderLineSerializer(many=True)
    receipts = ReceiptSerializer(many=True)


class OrdersAsked(serializers.Serializer[Any]):
    """Which orders."""

    state = serializers.ChoiceField(choices=OrderState.choices, required=False)


class DraftAsked(serializers.Serializer[Any]):
    """Which of what the purchase list proposes is drafted."""

    supplier = CodeField(
        Supplier.objects.all(), required=False, help_text="One supplier's alone; all unless given."
    )
    suggested = serializers.BooleanField(
        default=True, help_text="For the runs that the plan suggests as well."
    )
    until = serializers.DateField(
        required=False, help_text="Only what must be ordered by this day; all of it unless given."
    )


class DraftedSerializer(serializers.Serializer[Any]):
    """The drafts that were written."""

    orders = OrderSerializer(many=True)


class SendAsked(VersionAsked):
    """The day an order went out."""

    on = serializers.DateField(validators=[not_far_off])


class OrderReasonAsked(VersionAsked):
    """Why an order is given up, or a receipt undone."""

    reason = serializers.CharField(max_length=200)


class ArrivedAsked(serializers.Serializer[Any]):
    """What came of one line in one lot of the supplier's."""

    line_id = serializers.IntegerField()
    quantity = AmountAsked(required=False, help_text="Good; it becomes a lot.")
    damaged = AmountAsked(required=False, help_text="Not taken in.")
    damage = serializers.CharField(max_length=200, required=False, allow_blank=True)
    code = serializers.CharField(
        max_length=CODE_LENGTH, required=False, allow_blank=True, help_text="Of our lot."
    )
    supplier_lot = serializers.CharField(max_length=40, required=False, allow_blank=True)
    packaged_on = serializers.DateField(required=False, allow_null=True, validators=[not_to_come])
    best_before_on = serializers.DateField(required=False, allow_null=True)
    ends = serializers.BooleanField(default=False, help_text="The rest will not come.")


class ReceiveAsked(VersionAsked):
    """A delivery."""

    received_on = serializers.DateField(validators=[not_to_come])
    place = CodeField(
        Place.objects.filter(kind=PlaceKind.STORAGE), help_text="The code of a storage place."
    )
    freight = MoneyAsked(required=False, help_text="Shared over the lines by their price.")
    delivery_note = serializers.CharField(max_length=40, required=False, allow_blank=True)
    lines = ArrivedAsked(many=True, max_length=MOST_LINES)  # type: ignore[call-arg]  # of the list


class KitLotCostSerializer(serializers.Serializer[Any]):
    """What one kit of a lot cost."""

    lot = serializers.CharField(source="lot_code")
    packed_on = serializers.DateField()
    kits = serializers.IntegerField()
    packed = MoneyField()
    added = MoneyField(help_text="At dispatch, at what that costs now.")
    cost = MoneyField()
    share = serializers.FloatField(allow_null=True, help_text="Of the price that is earned, 0-1.")


class KitCostSerializer(serializers.Serializer[Any]):
    """What a kit costs now, and what its lots cost."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    price = MoneyField()
    standard = MoneyField(help_text="If it were packed now.")
    unpriced = serializers.ListField(
        child=serializers.CharField(), help_text="Parts that nothing says the cost of."
    )
    share = serializers.FloatField(allow_null=True, help_text="Of the price that is earned, 0-1.")
    working = WorkingSerializer()
    lots = KitLotCostSerializer(many=True)
    least = MoneyField(allow_null=True)
    most = MoneyField(allow_null=True)
    mean = MoneyField(allow_null=True)
