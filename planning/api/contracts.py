"""Contracts over the API, with what was called off of each and what is left."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from boxwort.web.amounts_api import MoneyField, QuantityField
from boxwort.web.operations_api import Listing
from inventory.models.items import MEASURE_CHOICES
from planning.queries.contracts import ContractRow, contract_rows


class ContractSerializer(serializers.Serializer[Any]):
    """A contract."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    supplier = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    pack_quantity = QuantityField()
    crop_year = serializers.IntegerField(allow_null=True)
    quantity = QuantityField()
    called_off = QuantityField(help_text="On purchase orders that are not cancelled.")
    left = QuantityField()
    pack_price = MoneyField(allow_null=True, help_text="Null: the price of the offer.")
    from_on = serializers.DateField()
    until_on = serializers.DateField()


class Contracts(Listing):
    """List contracts, the ones that end last first."""

    answer = ContractSerializer

    def rows(self, **asked: Any) -> Sequence[ContractRow]:
        return contract_rows()
