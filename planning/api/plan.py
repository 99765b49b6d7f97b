"""The plan over the API: all of it, one item through its weeks, taking up runs, keeping it."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from django.utils import timezone
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.amounts_api import MoneyField, QuantityField
from boxwort.web.operations_api import Act, DayAsked, Reading
from inventory.models.items import MEASURE_CHOICES
from planning.api.purchases import (
    CAUSES,
    PurchasePlanSerializer,
    RequirementSerializer,
)
from planning.engine.plan import planned
from planning.engine.plan_supplies import Source
from planning.queries.item_phases import ItemPhases, item_phases
from planning.queries.plan_figures import KeptPlanRow, kept_plan
from planning.queries.plan_input import plan_input
from planning.queries.plan_rows import PlanPage, plan_page, suggestions
from planning.services.keeping_plans import TakenUp, keep_plan, take_up_suggestions

SOURCES = [(source.value, source.value) for source in Source]
MOST_RUNS = 200


class ShortKitsSerializer(serializers.Serializer[Any]):
    """Kits that are not there when they are wanted; no day to be ready: never."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    kind = serializers.ChoiceField(choices=CAUSES)
    reference = serializers.CharField()
    wanted_on = serializers.DateField()
    ready_on = serializers.DateField(allow_null=True)
    reason = serializers.CharField()


class LackingSerializer(serializers.Serializer[Any]):
    """What is lacking of an item, and when it can be here; no day: never."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    quantity = QuantityField()
    usable_on = serializers.DateField(allow_null=True)


class WaitingSerializer(serializers.Serializer[Any]):
    """A run or an order whose parts come too late, and what can still be done."""

    kind = serializers.ChoiceField(choices=CAUSES)
    reference = serializers.CharField()
    on = serializers.DateField()
    kits = serializers.IntegerField()
    possible = serializers.IntegerField(help_text="About as many from what is there in time.")
    ready_on = serializers.DateField(allow_null=True)
    lacking = LackingSerializer(many=True)
    advice = serializers.ListField(child=serializers.CharField())


class ServedSerializer(serializers.Serializer[Any]):
    """What something is for, and how many kits of it."""

    what = serializers.SerializerMethodField()
    kits = serializers.SerializerMethodField()

    def get_what(self, found: tuple[str, int]) -> str:
        return found[0]

    def get_kits(self, found: tuple[str, int]) -> int:
        return found[1]


class SuggestedLineSerializer(serializers.Serializer[Any]):
    """Kits of a suggested run."""

    kit_id = serializers.IntegerField()
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    needed_on = serializers.DateField()
    serves = ServedSerializer(many=True)
    reasons = serializers.ListField(child=serializers.CharField())


class SuggestedRunSerializer(serializers.Serializer[Any]):
    """A run that the plan suggests; its key names it as long as the plan stands."""

    key = serializers.CharField()
    pack_on = serializers.DateField()
    level = serializers.IntegerField(help_text="0 is sold, more goes into other kits.")
    kits = serializers.IntegerField()
    lines = SuggestedLineSerializer(many=True)


class SuggestedWeekSerializer(serializers.Serializer[Any]):
    """The suggested runs of the week from a Monday."""

    week_on = serializers.DateField()
    runs = SuggestedRunSerializer(many=True)


class PlanFiguresSerializer(serializers.Serializer[Any]):
    """What a plan comes to."""

    runs = serializers.IntegerField()
    kits = serializers.IntegerField()
    purchases = serializers.IntegerField()
    past_due = serializers.IntegerField()
    cost = MoneyField()
    late_kits = serializers.IntegerField()
    unoffered = serializers.IntegerField()


class KeptPlanSerializer(serializers.Serializer[Any]):
    """A plan that was kept."""

    plan_id = serializers.IntegerField()
    made_at = serializers.DateTimeField()
    made_by = serializers.CharField()
    as_of = serializers.DateField()
    weeks = serializers.IntegerField()
    note = serializers.CharField()
    figures = PlanFiguresSerializer()


class PlanSerializer(serializers.Serializer[PlanPage]):
    """The plan: what is late, which runs to plan, what to order."""

    on = serializers.DateField()
    until = serializers.DateField()
    figures = PlanFiguresSerializer()
    short = ShortKitsSerializer(many=True)
    waiting = WaitingSerializer(many=True)
    weeks = SuggestedWeekSerializer(many=True)
    purchases = PurchasePlanSerializer()
    kept = KeptPlanSerializer(many=True)


class PhaseSerializer(serializers.Serializer[Any]):
    """A week of an item, in whole units of stock; the projected is what is left at its end."""

    week_on = serializers.DateField()
    gross = serializers.IntegerField()
    scheduled = serializers.IntegerField()
    expired = serializers.IntegerField()
    net = serializers.IntegerField()
    planned = serializers.IntegerField()
    projected = serializers.IntegerField()


class ForWhatSerializer(serializers.Serializer[Any]):
    """What something is for, and how many whole units of stock of it."""

    what = serializers.SerializerMethodField()
    quantity = serializers.SerializerMethodField()

    def get_what(self, found: tuple[str, int]) -> str:
        return found[0]

    def get_quantity(self, found: tuple[str, int]) -> int:
        return found[1]


class SupplySerializer(serializers.Serializer[Any]):
    """A lot, an order or a purchase to be made, and what it is for; no last day: it keeps."""

    source = serializers.ChoiceField(choices=SOURCES)  # type: ignore[assignment]  # a field
    reference = serializers.CharField()
    quantity = serializers.IntegerField()
    left = serializers.IntegerField()
    on = serializers.DateField()
    until = serializers.DateField(allow_null=True)
    serves = ForWhatSerializer(many=True)


class ItemPhasesSerializer(serializers.Serializer[ItemPhases]):
    """One item of the plan through its weeks; its needs, with what serves them, are its own."""

    on = serializers.DateField()
    item = RequirementSerializer()
    weeks = PhaseSerializer(many=True)
    supplies = SupplySerializer(many=True)


class TakenUpLineSerializer(serializers.Serializer[Any]):
    """Kits of a suggestion as they were read."""

    kit_id = serializers.IntegerField()
    kits = serializers.IntegerField(min_value=1)


class TakenUpSerializer(serializers.Serializer[Any]):
    """A suggestion as it was read."""

    key = serializers.CharField(max_length=20)
    lines = TakenUpLineSerializer(many=True)


class TakeUpAsked(serializers.Serializer[Any]):
    """The suggested runs to plan, as they were read."""

    runs = TakenUpSerializer(many=True, max_length=MOST_RUNS)  # type: ignore[call-arg]  # list's

    def validate_runs(self, value: list[dict[str, Any]]) -> list[TakenUp]:
        """Return them as the service takes them."""
        return [
            TakenUp(
                key=run["key"],
                kits=tuple((line["kit_id"], line["kits"]) for line in run["lines"]),
            )
            for run in value
        ]


class TakenUpAnswer(serializers.Serializer[Any]):
    """The runs that were planned."""

    runs = serializers.ListField(child=serializers.CharField())


class KeepAsked(serializers.Serializer[Any]):
    """Why the plan is kept."""

    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class PlanInFull(Reading):
    """Return the plan: what is late, which runs to plan, what to order."""

    query = DayAsked
    answer = PlanSerializer

    def found(self, **asked: Any) -> PlanPage:
        return plan_page(asked.get("on") or timezone.localdate())


class PlanItemPhases(Reading):
    """Return one item of the plan through its weeks, with what serves what."""

    query = DayAsked
    answer = ItemPhasesSerializer

    def found(self, **asked: Any) -> ItemPhases:
        return item_phases(asked.get("on") or timezone.localdate(), asked["item_id"])


class PlanTakeUp(Act):
    """Plan the suggested runs that are named, all or none.

    Each is refused where the plan does not suggest it any more as it was read.
    """

    name = "take_up_suggestions"
    right = Right.PLAN_RUN
    body = TakeUpAsked
    result = TakenUpAnswer
    success = HTTPStatus.CREATED

    def ready(self, **ids: Any) -> Mapping[str, Any]:
        """Return the suggestions as they are now, so that no lock is held while planning."""
        return {"standing": suggestions(timezone.localdate())}

    def done(self, by: User, **asked: Any) -> dict[str, Any]:
        runs = take_up_suggestions(by=by, standing=asked["standing"], chosen=asked["runs"])
        return {"runs": [run.code for run in runs]}


class PlanKeep(Act):
    """Keep the plan as it is now, to compare with later."""

    name = "keep_plan"
    right = Right.PLAN_RUN
    body = KeepAsked
    result = KeptPlanSerializer
    success = HTTPStatus.CREATED

    def ready(self, **ids: Any) -> Mapping[str, Any]:
        """Return the plan, so that no lock is held while it is reckoned."""
        return {"plan": planned(plan_input(timezone.localdate()))}

    def done(self, by: User, **asked: Any) -> KeptPlanRow:
        kept = keep_plan(by=by, plan=asked["plan"], note=asked.get("note", ""))
        return kept_plan(kept.pk)
