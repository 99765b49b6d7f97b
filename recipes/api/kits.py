"""Kits over the API: figures, and bills for any number of them."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from rest_framework import serializers

from boxwort.web.operations_api import CodeField, Listing, Reading
from inventory.models import Item, ItemKind
from recipes.api.shapes import (
    BillTotalSerializer,
    KitDetailSerializer,
    KitSerializer,
)
from recipes.models import MOST_KITS, Kit
from recipes.queries.bills import bill_for
from recipes.queries.kits import KitDetail, KitRow, kit_detail, kit_rows


class KitsAsked(serializers.Serializer[Any]):
    """Which kits."""

    recipe = serializers.CharField(
        required=False, allow_blank=True, help_text="Only those of the recipe with this code."
    )


class BillAsked(serializers.Serializer[Any]):
    """For how many kits, and with which yeast."""

    kits = serializers.IntegerField(min_value=1, max_value=MOST_KITS, default=1)
    yeast = CodeField(
        Item.objects.filter(kind=ItemKind.YEAST),
        required=False,
        help_text="A yeast's code; the usual one unless given.",
    )


class BillSerializer(serializers.Serializer[Any]):
    """The bill of a number of kits."""

    kit = serializers.CharField()
    kits = serializers.IntegerField()
    rows = BillTotalSerializer(many=True)


class Kits(Listing):
    """List kits, by code."""

    query = KitsAsked
    answer = KitSerializer

    def rows(self, **asked: Any) -> Sequence[KitRow]:
        return kit_rows(recipe_code=asked.get("recipe", ""))


class KitInFull(Reading):
    """Return one kit with its figures, their working, and its bill."""

    answer = KitDetailSerializer

    def found(self, **asked: Any) -> KitDetail:
        return kit_detail(asked["code"])


class KitBill(Reading):
    """Return the bill of a number of an offered kit, overage included."""

    query = BillAsked
    answer = BillSerializer
    problems = (HTTPStatus.UNPROCESSABLE_ENTITY,)

    def found(self, **asked: Any) -> dict[str, Any]:
        kit = Kit.objects.get(item__code=asked["code"])
        yeast: Item | None = asked.get("yeast")
        rows = bill_for(kit.pk, asked["kits"], yeast.pk if yeast else None)
        return {"kit": asked["code"], "kits": asked["kits"], "rows": rows}
