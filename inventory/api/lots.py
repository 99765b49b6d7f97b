"""Lots over the API: which there are, one in full, and receiving one."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import AmountAsked, MoneyAsked, in_stock, in_ten_thousandths
from boxwort.web.keys import key_of
from boxwort.web.operations_api import Act, CodeField, Listing, Reading, not_to_come
from inventory.api.shapes import LotDetailSerializer, LotSerializer
from inventory.models import HopForm, Item, ItemKind, LotStatus, Packing, Place, PlaceKind, Supplier
from inventory.models.codes import CODE_LENGTH
from inventory.queries.lots import LotRow, lot_row, lot_rows
from inventory.services.lots import receive_lot


class LotsAsked(serializers.Serializer[Any]):
    """Which lots."""

    text = serializers.CharField(
        required=False, allow_blank=True, help_text="A part of a code or a name."
    )
    item = CodeField(Item.objects.all(), required=False, help_text="An item's code.")
    kind = serializers.ChoiceField(choices=ItemKind.choices, required=False, allow_blank=True)
    status = serializers.ChoiceField(choices=LotStatus.choices, required=False, allow_blank=True)
    in_stock = serializers.BooleanField(default=False, help_text="Only with something on hand.")


class LotAsked(serializers.Serializer[Any]):
    """A delivery of one item. It waits in quarantine until it is released."""

    code = serializers.CharField(max_length=CODE_LENGTH)
    item = CodeField(
        Item.objects.exclude(kind=ItemKind.KIT),
        help_text="An item's code.",
    )
    quantity = AmountAsked()
    place = CodeField(
        Place.objects.filter(kind=PlaceKind.STORAGE),
        help_text="The code of a storage place.",
    )
    received_on = serializers.DateField(validators=[not_to_come])
    supplier = CodeField(
        Supplier.objects.all(),
        required=False,
        allow_null=True,
        help_text="A supplier's code.",
    )
    supplier_lot = serializers.CharField(max_length=40, required=False, allow_blank=True)
    packaged_on = serializers.DateField(required=False, allow_null=True, validators=[not_to_come])
    best_before_on = serializers.DateField(required=False, allow_null=True)
    packing = serializers.ChoiceField(
        choices=Packing.choices, required=False, allow_blank=True, help_text="Of hops."
    )
    form = serializers.ChoiceField(
        choices=HopForm.choices,
        required=False,
        allow_blank=True,
        help_text="How hops are pressed, where that differs from the item.",
    )
    cost = MoneyAsked(required=False, help_text="Of the whole delivery.")

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn the amount and the cost into what the books are kept in."""
        try:
            attrs["quantity"] = in_stock(attrs["quantity"], Measure(attrs["item"].measure))
        except ValidationError as wrong:
            raise ValidationError({"quantity": wrong.detail}) from wrong
        if cost := attrs.pop("cost", None):
            attrs["cost_amount"] = in_ten_thousandths(cost)
        return attrs


class Lots(Listing, Act):
    """List lots with their stock, by code."""

    query = LotsAsked
    answer = LotSerializer
    rights_by_method = {"POST": Right.RECEIVE_LOT}
    name = "receive_lot"
    body = LotAsked
    result = LotDetailSerializer
    success = HTTPStatus.CREATED

    def rows(self, **asked: Any) -> Sequence[LotRow]:
        item: Item | None = asked.pop("item", None)
        return lot_rows(item_id=item.pk if item else None, **asked)

    def done(self, by: User, **asked: Any) -> LotRow | None:
        """Receive a lot.

        It waits in quarantine until it is released.
        """
        lot = receive_lot(by=by, key=key_of(self.request), **asked)
        return lot_row(lot.pk)


class LotDetail(Reading):
    """Return one lot with its moves, analyses and reservations."""

    answer = LotDetailSerializer

    def found(self, **asked: Any) -> LotRow | None:
        return lot_row(asked["lot_id"])
