"""The purchase list over the API, to read and to download; and the demand it answers to."""

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
from planning.engine.requirements import Source
from planning.queries.demand import DemandGrid, demand_grid
from planning.queries.purchasing import PurchasePlan, purchase_plan

XLSX = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"
MOST_WEEKS = 104


class PurchaseLineSerializer(serializers.Serializer[Any]):
    """One line of a supplier's list.

    ``needed``, ``on_hand`` and ``on_order`` are of the item in all; ``net`` is what this line
    covers. A line without runs is for the safety stock.
    """

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    supplier_item_code = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    needed = QuantityField()
    on_hand = QuantityField()
    on_order = QuantityField()
    net = QuantityField()
    pack_quantity = QuantityField()
    packs = serializers.IntegerField()
    quantity = QuantityField()
    pack_price = MoneyField(allow_null=True)
    cost = MoneyField()
    need_by = serializers.DateField()
    order_by = serializers.DateField()
    arrives_on = serializers.DateField()
    past_due = serializers.BooleanField()
    runs = serializers.ListField(child=serializers.CharField())
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
    """What one run takes of an item, and what serves it."""

    run = serializers.CharField(source="run_code")
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
    needs = RowsField(NeedSerializer)


class PurchasePlanSerializer(serializers.Serializer[PurchasePlan]):
    """What open runs need, and what to buy for them from whom."""

    on = serializers.DateField()
    producer = serializers.CharField()
    total = MoneyField()
    suppliers = SupplierPlanSerializer(many=True)
    unoffered = UnofferedSerializer(many=True)
    requirements = RequirementSerializer(many=True, source="items")


class WeeksAsked(DayAsked):
    """The weeks of a grid, from the one that holds the day."""

    weeks = serializers.IntegerField(min_value=1, max_value=MOST_WEEKS, default=12)


class DemandCellSerializer(serializers.Serializer[Any]):
    """Kits wanted in one week; ``kits`` is what to plan for."""

    ordered = serializers.IntegerField()
    forecast = serializers.IntegerField()
    kits = serializers.IntegerField()


class DemandRowSerializer(serializers.Serializer[Any]):
    """One kit's demand, a cell for each week."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    cells = DemandCellSerializer(many=True)


class DemandSerializer(serializers.Serializer[DemandGrid]):
    """Weeks, each by its Monday, and the kits wanted in them."""

    weeks = serializers.ListField(child=serializers.DateField())
    rows = DemandRowSerializer(many=True)


class Workbook(AsItIs):
    """A workbook."""

    media_type = XLSX
    format = "xlsx"


class PurchaseList(Reading):
    """Return what to buy from whom, by when and for which runs."""

    query = DayAsked
    answer = PurchasePlanSerializer

    def found(self, **asked: Any) -> PurchasePlan:
        return purchase_plan(asked.get("on") or timezone.localdate())


class PurchaseWorkbook(Operation):
    """Return the purchase list as a workbook, a sheet for each supplier."""

    right = Right.READ
    query = DayAsked
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
        made = purchase_list_xlsx(purchase_plan(on), made_at=timezone.now(), units=units)
        return file_answer(made, f"purchase-list-{on.isoformat()}.xlsx")


class DemandWeeks(Reading):
    """Return the kits wanted in the coming weeks."""

    query = WeeksAsked
    answer = DemandSerializer

    def found(self, **asked: Any) -> DemandGrid:
        return demand_grid(asked.get("on") or timezone.localdate(), asked["weeks"])
