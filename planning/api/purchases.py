"""The purchase list over the API, to read and to download."""

from __future__ import annotations

from typing import Any

from django.utils import timezone
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import extend_schema
from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from boxwort.roles import Right
from boxwort.web.amounts_api import MoneyField, QuantityField, RowsField
from boxwort.web.files_api import AsItIs, file_answer
from boxwort.web.operations_api import DayAsked, Operation, Reading
from inventory.models.items import MEASURE_CHOICES
from planning.documents.purchase_list import purchase_list_xlsx
from planning.engine.plan_causes import CauseKind
from planning.engine.plan_supplies import Source
from planning.queries.purchasing import PurchasePlan, purchase_plan

CAUSES = [(kind.value, kind.value) for kind in CauseKind]
XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"


class PurchaseLineSerializer(serializers.Serializer[Any]):
    """One line of a supplier's list.

    ``needed``, ``on_hand`` and ``on_order`` are of the item in all; ``net`` is what this line
    covers: for planned runs, for suggested ones, for customers beside them, for the safety stock.
    """

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    supplier_item_code = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    needed = QuantityField()
    on_hand = QuantityField()
    on_order = QuantityField()
    net = QuantityField()
    for_planned = QuantityField()
    for_suggested = QuantityField()
    for_customers = QuantityField()
    for_safety = QuantityField()
    pack_quantity = QuantityField()
    packs = serializers.IntegerField()
    quantity = QuantityField()
    pack_price = MoneyField(allow_null=True)
    cost = MoneyField()
    need_by = serializers.DateField()
    order_by = serializers.DateField()
    arrives_on = serializers.DateField()
    usable_on = serializers.DateField(allow_null=True)
    past_due = serializers.BooleanField()
    runs = serializers.ListField(child=serializers.CharField())
    suggested = serializers.ListField(child=serializers.DateField(), help_text="Pack days.")
    orders = serializers.ListField(child=serializers.CharField())
    contract = serializers.CharField(help_text="That it is called off, if any.")
    reasons = serializers.ListField(child=serializers.CharField())
    advice = serializers.ListField(child=serializers.CharField())


class SupplierPlanSerializer(serializers.Serializer[Any]):
    """What to order from one supplier."""

    supplier = serializers.CharField(source="supplier_code")
    supplier_name = serializers.CharField()
    order_by = serializers.DateField()
    past_due = serializers.IntegerField(help_text="Lines that should have been ordered before.")
    total = MoneyField()
    lines = PurchaseLineSerializer(many=True)


class UnofferedSerializer(serializers.Serializer[Any]):
    """An item that is missing and that no supplier offers."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    net = QuantityField()
    need_by = serializers.DateField()
    runs = serializers.ListField(child=serializers.CharField())
    remedy = serializers.CharField()


class PegSerializer(serializers.Serializer[Any]):
    """A quantity of one supply: a lot, an order, or what must be bought."""

    source = serializers.ChoiceField(  # type: ignore[assignment]  # a field
        choices=[(source.value, source.value) for source in Source]
    )
    reference = serializers.CharField()
    quantity = QuantityField()


class NeedSerializer(serializers.Serializer[Any]):
    """What a run or an order takes of an item, and what serves it.

    ``run`` is empty where it is for something else; ``alpha`` is milligrams of alpha acid, null
    where the weight counts.
    """

    kind = serializers.ChoiceField(choices=CAUSES)
    named = serializers.CharField()
    run = serializers.CharField(source="run_code")
    alpha = serializers.IntegerField(allow_null=True)
    on = serializers.DateField()
    quantity = QuantityField()
    to_buy = QuantityField()
    pegs = RowsField(PegSerializer)


class RequirementSerializer(serializers.Serializer[Any]):
    """One item's requirement as of the day of the plan."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    safety_stock = QuantityField()
    gross = QuantityField()
    usable = QuantityField(help_text="Released and not expired, reserved or not.")
    quarantine = QuantityField()
    on_hold = QuantityField()
    expired = QuantityField()
    goes_off = QuantityField(help_text="Usable today, expired when it is needed.")
    on_order = QuantityField()
    late_orders = serializers.ListField(child=serializers.CharField())
    net = QuantityField(help_text="Must still be ordered.")
    alpha_gross = serializers.IntegerField(help_text="Of bittering hops, milligrams of alpha acid.")
    alpha_net = serializers.IntegerField()
    needs = RowsField(NeedSerializer)


class PurchasePlanSerializer(serializers.Serializer[PurchasePlan]):
    """What open runs need, and what to buy for them from whom."""

    on = serializers.DateField()
    with_suggested = serializers.BooleanField()
    until = serializers.DateField(allow_null=True)
    later = serializers.IntegerField(help_text="Lines that can be ordered after that day.")
    producer = serializers.CharField()
    total = MoneyField()
    suppliers = SupplierPlanSerializer(many=True)
    unoffered = UnofferedSerializer(many=True)
    requirements = RequirementSerializer(many=True, source="items")


class ListAsked(DayAsked):
    """The day of the list, and what it is for."""

    suggested = serializers.BooleanField(
        default=True, help_text="For the runs that the plan suggests as well as planned ones."
    )
    until = serializers.DateField(
        required=False, help_text="Only what must be ordered by this day; all of it unless given."
    )


class Workbook(AsItIs):
    """A workbook."""

    media_type = XLSX
    format = "xlsx"


class PurchaseList(Reading):
    """Return what to buy from whom, by when and for which runs."""

    query = ListAsked
    answer = PurchasePlanSerializer

    def found(self, **asked: Any) -> PurchasePlan:
        on = asked.get("on") or timezone.localdate()
        return purchase_plan(on, suggested=asked["suggested"], until=asked.get("until"))


class PurchaseWorkbook(Operation):
    """Return the purchase list as a workbook, a sheet for each supplier."""

    right = Right.READ
    query = ListAsked
    renderer_classes = [Workbook]

    @extend_schema(
        operation_id="purchase_list_workbook",
        tags=["purchase-list"],
        responses={(200, XLSX): OpenApiTypes.BINARY},
    )
    def get(self, request: Request) -> Response:
        asked = self.told(self.query, request.query_params)
        on = asked.get("on") or timezone.localdate()
        units = request.user.units  # type: ignore[union-attr]  # signed in
        plan = purchase_plan(on, suggested=asked["suggested"], until=asked.get("until"))
        made = purchase_list_xlsx(plan, made_at=timezone.now(), units=units)
        return file_answer(made, f"purchase-list-{on.isoformat()}.xlsx")
