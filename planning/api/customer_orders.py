"""Customer orders over the API: which there are, one whole, taking, changing, cancelling one."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from django.utils import timezone
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import (
    AmountAsked,
    MoneyAsked,
    MoneyField,
    QuantityField,
    in_stock,
    in_ten_thousandths,
)
from boxwort.web.operations_api import Act, CodeField, Listing, Reading, VersionAsked, not_far_off
from inventory.models import Item, ItemKind
from inventory.models.codes import CODE_LENGTH, code_validator
from inventory.models.items import MEASURE_CHOICES
from planning.models import CustomerOrder, CustomerOrderState, DispatchZone
from planning.queries.customer_orders import (
    ALL,
    CustomerOrderRow,
    customer_order,
    customer_order_rows,
)
from planning.services.customer_orders import (
    cancel_customer_order,
    change_customer_order,
    take_customer_order,
)
from planning.services.order_checks import CUSTOMER_LENGTH, NOTE_LENGTH, LineAsked
from recipes.models import MOST_KITS, Kit

MOST_LINES = 200


class CustomerLineSerializer(serializers.Serializer[Any]):
    """A line of an order: kits, or an extra, whose ``kit_id`` is null.

    ``crushed`` is null where the grain is packed ahead. ``price`` is of one kit, or of the whole
    extra.
    """

    id = serializers.IntegerField()
    kit_id = serializers.IntegerField(allow_null=True)
    item = serializers.CharField(source="code")
    item_name = serializers.CharField(source="name")
    yeast = serializers.CharField(source="yeast_code", help_text="Empty: the usual one.")
    crushed = serializers.BooleanField(allow_null=True)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    quantity = QuantityField()
    dispatched = QuantityField()
    price = MoneyField()


class CustomerOrderSerializer(serializers.Serializer[Any]):
    """A customer order with its lines."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    customer = serializers.CharField()
    zone = serializers.CharField(source="zone_code", help_text="Empty: none.")
    promised_on = serializers.DateField()
    state = serializers.ChoiceField(choices=CustomerOrderState.choices)
    late = serializers.BooleanField()
    note = serializers.CharField()
    kits = serializers.IntegerField()
    kits_left = serializers.IntegerField()
    value = MoneyField()
    lines = CustomerLineSerializer(many=True)


class CustomerOrdersAsked(serializers.Serializer[Any]):
    """Which orders."""

    state = serializers.ChoiceField(
        choices=[*CustomerOrderState.choices, (ALL, "All")], default=CustomerOrderState.OPEN
    )
    search = serializers.CharField(
        max_length=80, required=False, help_text="In codes, customers, notes and what is ordered."
    )


class CustomerLineAsked(serializers.Serializer[Any]):
    """A number of one kit with its options, or an amount of an item beside the kits."""

    kit = CodeField(
        Kit.objects.select_related("item"),
        code="item__code",
        required=False,
        help_text="A kit's code.",
    )
    kits = serializers.IntegerField(min_value=1, max_value=MOST_KITS, required=False)
    yeast = CodeField(
        Item.objects.filter(kind=ItemKind.YEAST),
        required=False,
        allow_null=True,
        help_text="A yeast option of the kit; the usual one unless given.",
    )
    crushed = serializers.BooleanField(
        default=True, help_text="How the grain goes out, where it is added at dispatch."
    )
    item = CodeField(Item.objects.all(), required=False, help_text="An extra's code.")
    amount = AmountAsked(required=False, help_text="Of the extra.")
    price = MoneyAsked(
        required=False, help_text="Of one kit, the usual one unless given; or of the whole extra."
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Return the line as the service takes it."""
        if ("kit" in attrs) == ("item" in attrs):
            msg = "Name a kit or an item, one of the two."
            raise serializers.ValidationError({"kit": [msg]})
        quantity = "kits" if "kit" in attrs else "amount"
        if quantity not in attrs:
            raise serializers.ValidationError({quantity: ["Say how much of it."]})
        return {"line": _line(attrs)}


def _line(asked: dict[str, Any]) -> LineAsked:
    kit, item, price = asked.get("kit"), asked.get("item"), asked.get("price")
    quantity = asked["kits"] if kit else in_stock(asked["amount"], Measure(asked["item"].measure))
    return LineAsked(
        kit=kit,
        item=item,
        quantity=quantity,
        yeast=asked.get("yeast"),
        crushed=asked["crushed"],
        price=in_ten_thousandths(price) if price else None,
    )


class CustomerOrderAsked(serializers.Serializer[Any]):
    """Who ordered what, to leave on which day; without a code the order is named for today."""

    customer = serializers.CharField(max_length=CUSTOMER_LENGTH)
    promised_on = serializers.DateField(validators=[not_far_off])
    zone = CodeField(DispatchZone.objects.all(), required=False, allow_null=True)
    code = serializers.CharField(
        max_length=CODE_LENGTH, validators=[code_validator], required=False
    )
    note = serializers.CharField(max_length=NOTE_LENGTH, required=False, allow_blank=True)
    lines = CustomerLineAsked(many=True, max_length=MOST_LINES)  # type: ignore[call-arg]  # of the list

    def validate_lines(self, value: list[dict[str, Any]]) -> list[LineAsked]:
        """Return the lines as the service takes them."""
        return [line["line"] for line in value]


class CustomerOrderChanged(CustomerOrderAsked, VersionAsked):
    """The order as it shall be, whole, and the version that was read."""

    code = None  # type: ignore[assignment]  # a code is for good


class CustomerOrderCancelAsked(VersionAsked):
    """Why the order is cancelled."""

    reason = serializers.CharField(max_length=200)


class CustomerOrders(Listing, Act):
    """List customer orders, the open ones first by the day they are to leave."""

    query = CustomerOrdersAsked
    answer = CustomerOrderSerializer
    rights_by_method = {"POST": Right.TAKE_ORDER}
    name = "take_customer_order"
    body = CustomerOrderAsked
    result = CustomerOrderSerializer
    success = HTTPStatus.CREATED

    def rows(self, **asked: Any) -> Sequence[CustomerOrderRow]:
        return customer_order_rows(timezone.localdate(), **asked)

    def done(self, by: User, **asked: Any) -> CustomerOrderRow:
        """Take an order.

        A kit without a yeast goes out with the usual one.
        """
        return _read(take_customer_order(by=by, **asked).pk)


class CustomerOrderInFull(Reading):
    """Return one customer order."""

    answer = CustomerOrderSerializer

    def found(self, **asked: Any) -> CustomerOrderRow:
        return _read(asked["order_id"])


class CustomerOrderChange(Act):
    """Write an order anew."""

    right = Right.TAKE_ORDER
    name = "change_customer_order"
    body = CustomerOrderChanged
    result = CustomerOrderSerializer

    def done(self, by: User, **asked: Any) -> CustomerOrderRow:
        """Write an order anew while nothing of it has left."""
        order_id, version = asked.pop("order_id"), asked.pop("version")
        order = get_object_or_404(CustomerOrder.objects.select_related("zone"), pk=order_id)
        change_customer_order(by=by, order=order, expected=version, **asked)
        return _read(order_id)


class CustomerOrderCancel(Act):
    """Cancel an order."""

    right = Right.TAKE_ORDER
    name = "cancel_customer_order"
    body = CustomerOrderCancelAsked
    result = CustomerOrderSerializer

    def done(self, by: User, **asked: Any) -> CustomerOrderRow:
        """Cancel what has not left of an order."""
        order = get_object_or_404(CustomerOrder, pk=asked["order_id"])
        cancel_customer_order(by=by, order=order, expected=asked["version"], reason=asked["reason"])
        return _read(order.pk)


def _read(order_id: int) -> CustomerOrderRow:
    return customer_order(order_id, timezone.localdate())
