"""Work on lots over the API: repack, mill, decant, blend, break down; read it, take it back."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from http import HTTPStatus
from typing import Any, ClassVar

from django.db.models import QuerySet
from django.http import Http404
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import AmountAsked, QuantityField, in_stock
from boxwort.web.keys import key_of
from boxwort.web.operations_api import Act, CodeField, Listing, Reading, Shape, not_to_come
from inventory.models import (
    WORKS,
    Conversion,
    ConversionKind,
    ConversionState,
    Lot,
    Packing,
    Place,
    PlaceKind,
)
from inventory.models.codes import CODE_LENGTH
from inventory.queries.conversions import ContentRow, WorkRow, work_row, work_rows
from inventory.services.blending import blend_lots
from inventory.services.breaking_down import Returned, break_down, packed_contents
from inventory.services.entries import REASON_LENGTH
from inventory.services.repacking import NOTHING, Left, decant_lot, mill_lot, repack_lot
from inventory.services.works import Made, Taken, undo_work


def _lots() -> QuerySet[Lot]:
    return Lot.objects.select_related("item")


def _stores() -> QuerySet[Place]:
    return Place.objects.filter(kind=PlaceKind.STORAGE)


class TakenAsked(serializers.Serializer[Any]):
    """How much of a lot is taken, and from which storage place."""

    lot = CodeField(_lots(), help_text="A lot's code.")
    quantity = AmountAsked()
    place = CodeField(_stores(), help_text="The code of a storage place.")


class MadeAsked(serializers.Serializer[Any]):
    """The lot that is made."""

    code = serializers.CharField(max_length=CODE_LENGTH)
    quantity = AmountAsked()
    place = CodeField(_stores(), help_text="The code of a storage place.")


class LeftAsked(serializers.Serializer[Any]):
    """What is left of an opened container. Without a code it stays in its lot."""

    code = serializers.CharField(max_length=CODE_LENGTH, required=False, allow_blank=True)
    quantity = AmountAsked()


class ReturnedAsked(serializers.Serializer[Any]):
    """What is good of a lot that the kits were packed from; zero where all of it is lost."""

    lot = CodeField(_lots(), help_text="The code of the lot that was packed.")
    quantity = AmountAsked()
    code = serializers.CharField(max_length=CODE_LENGTH, help_text="Of the lot it becomes.")
    place = CodeField(_stores(), help_text="The code of a storage place.")


class WorkAsked(serializers.Serializer[Any]):
    """Work on one lot. What is neither made nor left is lost."""

    taken = TakenAsked()
    made = MadeAsked()
    left = LeftAsked(required=False)
    on = serializers.DateField(validators=[not_to_come])
    reason = serializers.CharField(
        max_length=REASON_LENGTH,
        required=False,
        allow_blank=True,
        help_text="Needed where more is lost than the item usually loses.",
    )

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn what was asked into what the service takes."""
        measure = Measure(attrs["taken"]["lot"].item.measure)
        left = attrs.get("left")
        return {
            **attrs,
            "taken": _taken(attrs["taken"]),
            "made": _made(attrs["made"], measure),
            "left": NOTHING
            if left is None
            else Left(quantity=_stocked(left, measure, "left"), code=left.get("code", "")),
        }


class RepackAsked(WorkAsked):
    """A repacking of one lot."""

    packing = serializers.ChoiceField(
        choices=Packing.choices, required=False, allow_blank=True, help_text="Owed of hops."
    )


class BlendAsked(serializers.Serializer[Any]):
    """A blend of two or more lots of one item. What does not come out is lost."""

    taken = TakenAsked(many=True)
    made = MadeAsked()
    packing = serializers.ChoiceField(
        choices=Packing.choices, required=False, allow_blank=True, help_text="Owed of hops."
    )
    on = serializers.DateField(validators=[not_to_come])
    reason = serializers.CharField(max_length=REASON_LENGTH, required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn what was asked into what the service takes."""
        rows = attrs["taken"]
        if not rows:
            raise ValidationError({"taken": ["Name the lots that are blended."]})
        measure = Measure(rows[0]["lot"].item.measure)
        return {
            **attrs,
            "taken": [_taken(row) for row in rows],
            "made": _made(attrs["made"], measure),
        }


class BreakDownAsked(serializers.Serializer[Any]):
    """Kits that are broken down, and what is good of each lot that they were packed from."""

    taken = TakenAsked()
    returned = ReturnedAsked(many=True)
    on = serializers.DateField(validators=[not_to_come])
    reason = serializers.CharField(max_length=REASON_LENGTH, required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn what was asked into what the service takes."""
        returned = [
            Returned(
                lot_id=row["lot"].pk,
                quantity=_stocked(row, Measure(row["lot"].item.measure), "returned"),
                code=row["code"],
                place=row["place"],
            )
            for row in attrs["returned"]
        ]
        return {**attrs, "taken": _taken(attrs["taken"]), "returned": returned}


class UndoAsked(serializers.Serializer[Any]):
    """Why work is taken back."""

    reason = serializers.CharField(max_length=REASON_LENGTH)


class WorkLotSerializer(serializers.Serializer[Any]):
    """A quantity of a lot in the work, and the lot that it goes on from."""

    lot = serializers.CharField(source="code")
    lot_id = serializers.IntegerField()
    item_name = serializers.CharField()
    quantity = QuantityField()
    place_name = serializers.CharField()
    goes_on_from = serializers.CharField(source="from_code")
    left = serializers.BooleanField(help_text="What was left of an opened container.")


class WorkBalanceSerializer(serializers.Serializer[Any]):
    """The mass balance of an item: what went in was made, left or lost."""

    item_name = serializers.CharField()
    used = QuantityField()
    made = QuantityField()
    left = QuantityField()
    lost = QuantityField()
    expected = QuantityField(help_text="What such work usually loses.")


class WorkSerializer(serializers.Serializer[WorkRow]):
    """One piece of work on lots."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    kind = serializers.ChoiceField(choices=ConversionKind.choices)
    state = serializers.ChoiceField(choices=ConversionState.choices)
    posting = serializers.IntegerField(source="posting_id")
    occurred_on = serializers.DateField()
    recorded_at = serializers.DateTimeField()
    by = serializers.CharField()
    reason = serializers.CharField()
    taken_back = serializers.CharField(help_text="Why it was taken back, if it was.")
    opened_lot = serializers.CharField(
        source="opened_code", help_text="The lot in which what was left stayed, if any."
    )
    inputs = WorkLotSerializer(many=True)
    outputs = WorkLotSerializer(many=True)
    balances = WorkBalanceSerializer(many=True)


class ContentSerializer(serializers.Serializer[ContentRow]):
    """What the kits hold of a lot."""

    lot = serializers.CharField(source="code")
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    quantity = QuantityField()
    expected = QuantityField(help_text="What breaking them down usually loses of it.")


class ContentsSerializer(serializers.Serializer[Any]):
    """What so many kits hold, by the lots they were packed from."""

    contents = ContentSerializer(many=True)


class WorksAsked(serializers.Serializer[Any]):
    """Which work."""

    text = serializers.CharField(
        required=False, allow_blank=True, help_text="A part of its code, or of the code of a lot."
    )
    kind = serializers.ChoiceField(
        choices=[(kind.value, kind.label) for kind in WORKS], required=False, allow_blank=True
    )
    state = serializers.ChoiceField(
        choices=ConversionState.choices, required=False, allow_blank=True
    )


class KitsAsked(serializers.Serializer[Any]):
    """How many kits."""

    kits = serializers.IntegerField(min_value=1, max_value=100_000, default=1)


class Conversions(Listing):
    """List work on lots, the newest first."""

    query = WorksAsked
    answer = WorkSerializer

    def rows(self, **asked: Any) -> Sequence[WorkRow]:
        return work_rows(**asked)


class ConversionDetail(Reading):
    """Return one piece of work with its lots and its mass balance."""

    answer = WorkSerializer

    def found(self, **asked: Any) -> WorkRow | None:
        return work_row(asked["work_id"])


class LotContents(Reading):
    """Return what so many kits of a lot that was packed here hold."""

    query = KitsAsked
    answer = ContentsSerializer

    def found(self, **asked: Any) -> Mapping[str, Sequence[ContentRow]]:
        lot = Lot.objects.select_related("stock").get(pk=asked["lot_id"])
        if asked["kits"] > lot.stock.on_hand:
            wrong = f"{lot.stock.on_hand} of them are on hand. Ask for that many or fewer."
            raise ValidationError({"kits": [wrong]})
        return {"contents": packed_contents(lot, asked["kits"])}


class WorkAct(Act):
    """Work on lots; the answer is the work whole."""

    right = Right.WORK_ON_LOT
    result: ClassVar[Shape] = WorkSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> WorkRow | None:
        """Do it, and return it as it reads."""
        return work_row(self.work(by=by, key=key_of(self.request), **asked).pk)

    def work(self, **asked: Any) -> Conversion:
        """Call the service."""
        raise NotImplementedError


class ConversionRepack(WorkAct):
    """Repack some of a lot.

    Hops age in their new packing from that day.
    """

    name = "repack_lot"
    body = RepackAsked

    def work(self, **asked: Any) -> Conversion:
        return repack_lot(**asked)


class ConversionMill(WorkAct):
    """Mill some of a lot of grain.

    The crushed lot keeps no longer than its crushed life.
    """

    name = "mill_lot"
    body = WorkAsked

    def work(self, **asked: Any) -> Conversion:
        return mill_lot(**asked)


class ConversionDecant(WorkAct):
    """Decant some of a drum.

    What is left of it counts as opened from that day.
    """

    name = "decant_lot"
    body = WorkAsked

    def work(self, **asked: Any) -> Conversion:
        return decant_lot(**asked)


class ConversionBlend(WorkAct):
    """Blend lots of one item.

    What is known of the blend is the mean by weight of what is known of its lots.
    """

    name = "blend_lots"
    body = BlendAsked

    def work(self, **asked: Any) -> Conversion:
        return blend_lots(**asked)


class ConversionBreakDown(WorkAct):
    """Break kits down into what they were packed from.

    Each lot comes back as a lot of its own that goes on from it.
    """

    name = "break_down"
    body = BreakDownAsked

    def work(self, **asked: Any) -> Conversion:
        return break_down(**asked)


class ConversionUndo(Act):
    """Take work back, while nothing of what it made is used, reserved or shipped."""

    name = "undo_work"
    right = Right.CORRECT_STOCK
    body = UndoAsked
    result = WorkSerializer

    def done(self, by: User, **asked: Any) -> WorkRow | None:
        work = Conversion.objects.filter(kind__in=WORKS, pk=asked["work_id"]).first()
        if work is None:
            raise Http404
        undo_work(by=by, conversion=work, key=key_of(self.request), reason=asked["reason"])
        return work_row(work.pk)


def _taken(asked: Mapping[str, Any]) -> Taken:
    lot = asked["lot"]
    quantity = _stocked(asked, Measure(lot.item.measure), "taken")
    return Taken(lot_id=lot.pk, quantity=quantity, place=asked["place"])


def _made(asked: Mapping[str, Any], measure: Measure) -> Made:
    quantity = _stocked(asked, measure, "made")
    return Made(code=asked["code"], quantity=quantity, place=asked["place"])


def _stocked(asked: Mapping[str, Any], measure: Measure, part: str) -> int:
    try:
        return in_stock(asked["quantity"], measure)
    except ValidationError as wrong:
        raise ValidationError({part: {"quantity": wrong.detail}}) from wrong
