"""Which lots go to which runs over the API: read it, search for better, reserve a run by it."""

from __future__ import annotations

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, Reading, VersionAsked, not_far_off
from planning.api.run_shapes import RunDetailSerializer
from planning.models import LotPlan, Run, RunState
from planning.queries.allocated_cuts import allocated_cut
from planning.queries.allocations import AllocationRow, latest_allocation
from planning.queries.runs import RunDetail, run_detail
from planning.services.allocating import ask_allocation, reserve_as_allocated


class AimSerializer(serializers.Serializer[Any]):
    """One aim: what this answer comes to, the greedy one, and first expired first literally."""

    name = serializers.CharField()
    words = serializers.CharField()
    chosen = serializers.IntegerField()
    greedy = serializers.IntegerField()
    literal = serializers.IntegerField()


class PlannedLotSerializer(serializers.Serializer[Any]):
    """A lot of a batch; ``changed`` where the batch before it has another."""

    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    lot_id = serializers.IntegerField()
    lot = serializers.CharField(source="lot_code")
    changed = serializers.BooleanField()


class AllocatedBatchSerializer(serializers.Serializer[Any]):
    """Kits in a row from one set of lots."""

    kits = serializers.IntegerField()
    from_kit = serializers.IntegerField()
    to_kit = serializers.IntegerField()
    lots = PlannedLotSerializer(many=True)


class AllocatedLineSerializer(serializers.Serializer[Any]):
    """A run line: ``possible`` of its ``kits`` have lots; ``lacks`` names what holds back."""

    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    possible = serializers.IntegerField()
    firm = serializers.IntegerField(help_text="Kits that firm orders wait for.")
    lacks = serializers.ListField(child=serializers.CharField())
    batches = AllocatedBatchSerializer(many=True)


class AllocatedRunSerializer(serializers.Serializer[Any]):
    """A run as it was allotted; ``reservable`` while all of it has lots and it is planned."""

    id = serializers.IntegerField()
    code = serializers.CharField()
    pack_on = serializers.DateField()
    state = serializers.ChoiceField(choices=RunState.choices)
    version = serializers.IntegerField()
    reservable = serializers.BooleanField()
    lines = AllocatedLineSerializer(many=True)


class LotPlanSerializer(serializers.Serializer[AllocationRow]):
    """The newest allocation; ``changes`` is what is not as it was when it was made."""

    id = serializers.IntegerField()
    made_at = serializers.DateTimeField()
    made_by = serializers.CharField()
    until_on = serializers.DateField()
    status = serializers.CharField(help_text="best, bounded, or stopped by a person.")
    wanted = serializers.IntegerField()
    kits = serializers.IntegerField()
    most_kits = serializers.IntegerField(
        help_text="No plan that serves as many firm orders has lots for more."
    )
    batches = serializers.IntegerField()
    fewest_batches = serializers.IntegerField(help_text="No plan of these kits has fewer.")
    gap = serializers.FloatField(help_text="Share of the batches that might be saved at most.")
    how_good = serializers.ListField(child=serializers.CharField())
    changes = serializers.ListField(child=serializers.CharField())
    aims = AimSerializer(many=True)
    runs = AllocatedRunSerializer(many=True)


class AllocationAsked(serializers.Serializer[Any]):
    """The last day of packing that counts; the horizon of the house unless given."""

    until_on = serializers.DateField(required=False, validators=[not_far_off])


class JobAskedSerializer(serializers.Serializer[Any]):
    """The job that searches: watch it under jobs; cancelled, it keeps the best so far."""

    job = serializers.IntegerField()


class AllocationInFull(Reading):
    """Return the newest allocation of lots to planned runs."""

    answer = LotPlanSerializer

    def found(self, **asked: Any) -> AllocationRow | None:
        return latest_allocation()


class Allocate(Act):
    """Search for a better allocation of lots to the planned runs, in the background."""

    name = "ask_allocation"
    right = Right.RUN_JOB
    body = AllocationAsked
    result = JobAskedSerializer
    success = HTTPStatus.ACCEPTED

    def done(self, by: User, **asked: Any) -> dict[str, Any]:
        return {"job": ask_allocation(by=by, until_on=asked.get("until_on")).pk}


class AllocationReserve(Act):
    """Reserve a planned run from the lots that an allocation chose for it, or nothing of it.

    Refused where the run or its lots are not what they were.
    """

    name = "reserve_as_allocated"
    right = Right.RESERVE_RUN
    body = VersionAsked
    result = RunDetailSerializer

    def ready(self, **ids: Any) -> Mapping[str, Any]:
        """Return the cut of a planned run, so that no lock is held while weights are balanced."""
        plan, run = _plan(ids), _run(ids)
        return {"cut": allocated_cut(plan, run) if run.state == RunState.PLANNED else None}

    def done(self, by: User, **asked: Any) -> RunDetail:
        reserve_as_allocated(
            by=by,
            run=_run(asked),
            expected=asked["version"],
            plan=_plan(asked),
            cut=asked["cut"],
        )
        return run_detail(asked["run_id"])


def _plan(asked: Mapping[str, Any]) -> LotPlan:
    return get_object_or_404(LotPlan, pk=asked["plan_id"])


def _run(asked: Mapping[str, Any]) -> Run:
    return get_object_or_404(Run, pk=asked["run_id"])
