"""Items over the API."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from rest_framework import serializers

from boxwort.web.operations_api import Listing, Reading
from inventory.api.shapes import ItemSerializer
from inventory.models import ItemKind
from inventory.queries.items import ItemRow, item_row, item_rows


class ItemsAsked(serializers.Serializer[Any]):
    """Which items."""

    text = serializers.CharField(
        required=False, allow_blank=True, help_text="A part of the code or the name."
    )
    kind = serializers.ChoiceField(choices=ItemKind.choices, required=False, allow_blank=True)
    active_only = serializers.BooleanField(default=False)


class Items(Listing):
    """List items with their stock, by code."""

    query = ItemsAsked
    answer = ItemSerializer

    def rows(self, **asked: Any) -> Sequence[ItemRow]:
        return item_rows(**asked)


class ItemDetail(Reading):
    """Return one item with its specification and stock."""

    answer = ItemSerializer

    def found(self, **asked: Any) -> ItemRow | None:
        return item_row(asked["item_id"])
