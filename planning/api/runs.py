"""Runs over the API: which there are, one whole, planning one, and how it would be cut."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.operations_api import Act, CodeField, Listing, Reading, not_far_off
from inventory.models import Item, ItemKind
from inventory.models.codes import CODE_LENGTH, code_validator
from planning.api.run_shapes import CutSerializer, RunDetailSerializer, RunSerializer
from planning.models import Run, RunState
from planning.queries.previews import RunPreview, run_preview
from planning.queries.runs import RunDetail, RunRow, run_detail, run_rows
from planning.services.runs import KitsAsked, plan_run
from recipes.models import MOST_KITS, Kit

MOST_LINES = 100


class RunsAsked(serializers.Serializer[Any]):
    """Which runs."""

    only_open = serializers.BooleanField(
        default=False, help_text="Only planned, reserved and being packed."
    )


class RunLineAsked(serializers.Serializer[Any]):
    """A number of one kit, and the yeast for it if it is not the usual one."""

    kit = CodeField(
        Kit.objects.select_related("item", "method__revision__recipe"),
        code="item__code",
        help_text="A kit's code.",
    )
    kits = serializers.IntegerField(min_value=1, max_value=MOST_KITS)
    yeast = CodeField(
        Item.objects.filter(kind=ItemKind.YEAST),
        required=False,
        allow_null=True,
        help_text="A yeast's code.",
    )


class RunAsked(serializers.Serializer[Any]):
    """A day of packing; without a code the run is named for its day."""

    pack_on = serializers.DateField(validators=[not_far_off])
    lines = RunLineAsked(many=True, max_length=MOST_LINES)  # type: ignore[call-arg]  # of the list
    code = serializers.CharField(
        max_length=CODE_LENGTH, validators=[code_validator], required=False
    )
    note = serializers.CharField(max_length=200, required=False, allow_blank=True)

    def validate_lines(self, value: list[dict[str, Any]]) -> list[KitsAsked]:
        """Return the lines as the service takes them."""
        return [KitsAsked(**line) for line in value]


class Runs(Listing, Act):
    """List runs: the open ones by pack date, then the rest, newest first."""

    query = RunsAsked
    answer = RunSerializer
    rights_by_method = {"POST": Right.PLAN_RUN}
    name = "plan_run"
    body = RunAsked
    result = RunDetailSerializer
    success = HTTPStatus.CREATED

    def rows(self, **asked: Any) -> Sequence[RunRow]:
        return run_rows(**asked)

    def done(self, by: User, **asked: Any) -> RunDetail:
        """Plan a run.

        No stock is taken yet.
        """
        return run_detail(plan_run(by=by, **asked).pk)


class RunInFull(Reading):
    """Return one run with its lines, batches, allocations and sheets."""

    answer = RunDetailSerializer

    def found(self, **asked: Any) -> RunDetail:
        return run_detail(asked["run_id"])


class RunCut(Reading):
    """Return how a planned run would be cut into batches today, or what it lacks."""

    answer = CutSerializer
    problems = (HTTPStatus.UNPROCESSABLE_ENTITY,)

    def found(self, **asked: Any) -> RunPreview:
        run = Run.objects.get(pk=asked["run_id"])
        if run.state != RunState.PLANNED:
            raise Refusal(
                "run-not-planned",
                f"Run {run.code} is {run.get_state_display().lower()}; it is cut already.",
                "Read the run: its batches are there.",
            )
        return run_preview(run)
