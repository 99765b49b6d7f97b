"""What is done to a run over the API: reserve, give back, start packing, close, cancel."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, VersionAsked
from planning.api.run_shapes import RunDetailSerializer
from planning.models import Run, RunState
from planning.queries.cuts import run_plan
from planning.queries.runs import RunDetail, run_detail
from planning.services.packing import close_run, start_packing
from planning.services.reserving import cancel_run, give_run_back, reserve_run
from planning.services.substituting import choose_substitutes


class CancelAsked(VersionAsked):
    """The version, and why."""

    reason = serializers.CharField(max_length=200, required=False, allow_blank=True)


class SubstituteAsked(VersionAsked):
    """Which row of which line, and the substitute to use; null for the original again."""

    line_id = serializers.IntegerField()
    key = serializers.CharField(max_length=24, help_text="Of the kit's bill.")
    substitute_id = serializers.IntegerField(allow_null=True)


class RunReserve(Act):
    """Reserve everything a run packs, or nothing of it.

    Batches are cut, lots chosen, hop weights balanced and sheets issued. Short of something, it
    is refused; the facts say of what, how much, and how many kits are possible.
    """

    name = "reserve_run"
    right = Right.RESERVE_RUN
    body = VersionAsked
    result = RunDetailSerializer

    def ready(self, **ids: Any) -> Mapping[str, Any]:
        """Return the cut of a planned run, so that no lock is held while weights are balanced."""
        run = _run(ids)
        return {"cut": run_plan(run) if run.state == RunState.PLANNED else None}

    def done(self, by: User, **asked: Any) -> RunDetail:
        reserve_run(by=by, run=_run(asked), expected=asked["version"], cut=asked["cut"])
        return run_detail(asked["run_id"])


class RunGiveBack(Act):
    """Take a reserved run back to plan.

    Its batches end, its reservations are given back and its sheets are void.
    """

    name = "give_run_back"
    right = Right.RESERVE_RUN
    body = VersionAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        give_run_back(by=by, run=_run(asked), expected=asked["version"])
        return run_detail(asked["run_id"])


class RunStart(Act):
    """Begin to pack a reserved run."""

    name = "start_packing"
    right = Right.PACK_RUN
    body = VersionAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        start_packing(by=by, run=_run(asked), expected=asked["version"])
        return run_detail(asked["run_id"])


class RunSubstitute(Act):
    """Let a line of a planned run use an approved substitute, or the original again.

    What could stand for what is short comes with the run's cut.
    """

    name = "choose_substitutes"
    right = Right.PLAN_RUN
    body = SubstituteAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        choose_substitutes(
            by=by,
            run=_run(asked),
            expected=asked["version"],
            chosen={asked["line_id"]: {asked["key"]: asked["substitute_id"]}},
        )
        return run_detail(asked["run_id"])


class RunClose(Act):
    """Close a run; a batch that was not packed is given back."""

    name = "close_run"
    right = Right.PACK_RUN
    body = VersionAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        close_run(by=by, run=_run(asked), expected=asked["version"])
        return run_detail(asked["run_id"])


class RunCancel(Act):
    """Cancel a run; everything it held is given back."""

    name = "cancel_run"
    right = Right.PLAN_RUN
    body = CancelAsked
    result = RunDetailSerializer

    def done(self, by: User, **asked: Any) -> RunDetail:
        cancel_run(
            by=by,
            run=_run(asked),
            expected=asked["version"],
            reason=asked.get("reason", ""),
        )
        return run_detail(asked["run_id"])


def _run(asked: Mapping[str, Any]) -> Run:
    return get_object_or_404(Run, pk=asked["run_id"])
