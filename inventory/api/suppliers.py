"""Suppliers and what they sell, over the API."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from boxwort.web.amounts_api import MoneyField, QuantityField
from boxwort.web.operations_api import Listing
from inventory.models import ItemKind
from inventory.models.items import MEASURE_CHOICES
from inventory.queries.suppliers import SoldRow, SupplierRow, sold_rows, supplier_rows


class SupplierSerializer(serializers.Serializer[Any]):
    """A supplier."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    name = serializers.CharField()
    email = serializers.CharField()
    lead_days = serializers.IntegerField()
    counts_working_days = serializers.BooleanField(
        help_text="Whether lead days are working days of the house."
    )
    order_weekdays = serializers.CharField(
        help_text="The weekdays on which orders are taken, 0 for Monday: 024 is Mon, Wed and Fri."
    )
    active = serializers.BooleanField()
    offers = serializers.IntegerField(help_text="How many there are.")


class PriceBreakSerializer(serializers.Serializer[Any]):
    """The price of a pack from a number of packs on."""

    from_packs = serializers.IntegerField()
    pack_price = MoneyField()


class OfferSerializer(serializers.Serializer[Any]):
    """An item as one supplier sells it in one pack."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    supplier = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    item_kind = serializers.ChoiceField(choices=ItemKind.choices)
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    supplier_item_code = serializers.CharField()
    pack_quantity = QuantityField()
    minimum_packs = serializers.IntegerField()
    lead_days = serializers.IntegerField(
        source="own_lead_days", allow_null=True, help_text="Null: the supplier's."
    )
    preferred = serializers.BooleanField()
    breaks = PriceBreakSerializer(many=True)


class OffersAsked(serializers.Serializer[Any]):
    """Which offers."""

    supplier_id = serializers.IntegerField(
        required=False, min_value=1, help_text="Only those of the supplier with this number."
    )


class Suppliers(Listing):
    """List suppliers, by code."""

    answer = SupplierSerializer

    def rows(self, **asked: Any) -> Sequence[SupplierRow]:
        return supplier_rows()


class Offers(Listing):
    """List offers, by supplier and item."""

    query = OffersAsked
    answer = OfferSerializer

    def rows(self, **asked: Any) -> Sequence[SoldRow]:
        return sold_rows(supplier_id=asked.get("supplier_id"))
