"""Packing a batch over the API."""

from __future__ import annotations

from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import AmountAsked, in_stock
from boxwort.web.keys import key_of
from boxwort.web.operations_api import Act, CodeField, VersionAsked, not_to_come
from inventory.models import Place, PlaceKind
from planning.api.run_shapes import RunDetailSerializer
from planning.models import Allocation, Batch
from planning.queries.runs import RunDetail, run_detail
from planning.services.packing import Packed, pack_batch

MOST_USED = 1000


class UsedAsked(serializers.Serializer[Any]):
    """What an allocation really gave, where it is not what was reserved."""

    allocation = serializers.PrimaryKeyRelatedField(
        queryset=Allocation.objects.select_related("lot__item")
    )
    quantity = AmountAsked()

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn the amount into whole units of stock."""
        measure = Measure(attrs["allocation"].lot.item.measure)
        try:
            attrs["quantity"] = in_stock(attrs["quantity"], measure)
        except ValidationError as wrong:
            raise ValidationError({"quantity": wrong.detail}) from wrong
        return attrs


class PackAsked(VersionAsked):
    """What came of packing a batch; an allocation that is not named gave what was reserved."""

    kits = serializers.IntegerField(min_value=1)
    place = CodeField(
        Place.objects.filter(kind=PlaceKind.STORAGE),
        help_text="The code of the storage place that the kits go to.",
    )
    packed_on = serializers.DateField(validators=[not_to_come])
    used = UsedAsked(  # type: ignore[call-arg]  # of the list
        many=True, required=False, max_length=MOST_USED
    )

    def validate_used(self, value: list[dict[str, Any]]) -> dict[int, int]:
        """Return the quantities by allocation, each named once."""
        used = {row["allocation"].pk: row["quantity"] for row in value}
        if len(used) < len(value):
            msg = "An allocation is named twice."
            raise ValidationError(msg)
        return used


class BatchPack(Act):
    """Record that a batch of a run that is being packed is packed.

    What was really used is taken out of stock and the finished kits become a lot.
    """

    name = "pack_batch"
    right = Right.PACK_RUN
    body = PackAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        batches = Batch.objects.select_related("run_line__run", "run_line__kit__item", "conversion")
        batch = get_object_or_404(batches, pk=asked["batch_id"])
        pack_batch(
            by=by,
            batch=batch,
            expected=asked["version"],
            packed=Packed(kits=asked["kits"], used=asked.get("used", {})),
            place=asked["place"],
            on=asked["packed_on"],
            key=key_of(self.request),
        )
        return run_detail(batch.run_line.run_id)
