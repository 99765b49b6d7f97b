"""Proposals over the API: new weights to accept or refuse, and asking for them."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.amounts_api import QuantityField
from boxwort.web.operations_api import Act, CodeField, Listing, Reading
from boxwort.web.workings_api import WorkingSerializer
from inventory.models.items import MEASURE_CHOICES
from planning.models import Proposal, ProposalState, Run
from planning.queries.proposals import ProposalRow, proposal_row, proposal_rows
from planning.queries.rebalancing import kits_of_run, kits_with_batches
from planning.services.proposing import accept_proposal, ask_rebalance, refuse_proposal
from recipes.models.methods import ROLE_CHOICES, USE_CHOICES


class ProposalsAsked(serializers.Serializer[Any]):
    """Which proposals."""

    state = serializers.ChoiceField(choices=ProposalState.choices, required=False, allow_blank=True)


class DecisionAsked(serializers.Serializer[Any]):
    """A word on the decision."""

    note = serializers.CharField(max_length=200, required=False, allow_blank=True)


class RebalanceAsked(serializers.Serializer[Any]):
    """What to balance again: the batches of one run, or all that are reserved."""

    run = CodeField(
        Run.objects.all(),
        required=False,
        allow_null=True,
        help_text="A run's code; every reserved batch unless given.",
    )


class ProposedRowSerializer(serializers.Serializer[Any]):
    """One line of the bill: lot, weight for each kit and bitterness, now and as proposed."""

    key = serializers.CharField()
    item = serializers.CharField(source="item_code")
    item_name = serializers.CharField()
    measure = serializers.ChoiceField(choices=MEASURE_CHOICES)
    use = serializers.ChoiceField(choices=USE_CHOICES, allow_blank=True)
    minutes = serializers.IntegerField(help_text="Of the recipe.")
    old_minutes = serializers.IntegerField(
        default=None, allow_null=True, help_text="Boil time of what moves in time, on the sheet."
    )
    new_minutes = serializers.IntegerField(default=None, allow_null=True)
    role = serializers.ChoiceField(choices=ROLE_CHOICES, allow_blank=True)
    old_lot = serializers.CharField()
    new_lot = serializers.CharField()
    old = QuantityField(allow_null=True)
    new = QuantityField()
    quantity = QuantityField(help_text="To be reserved of the new lot, overage included.")
    old_alpha = serializers.FloatField(allow_null=True)
    new_alpha = serializers.FloatField(allow_null=True)
    ibu_unchanged = serializers.FloatField()
    ibu_corrected = serializers.FloatField()


class ProposalSerializer(serializers.Serializer[ProposalRow]):
    """New weights for one batch: IBU if nothing is changed, and corrected."""

    id = serializers.IntegerField()
    batch_id = serializers.IntegerField()
    batch = serializers.CharField(source="batch_code")
    run_id = serializers.IntegerField()
    run = serializers.CharField(source="run_code")
    pack_on = serializers.DateField()
    kit = serializers.CharField(source="kit_code")
    kit_name = serializers.CharField()
    kits = serializers.IntegerField()
    cause = serializers.CharField()
    state = serializers.ChoiceField(choices=ProposalState.choices)
    made_at = serializers.DateTimeField()
    decided_at = serializers.DateTimeField(allow_null=True)
    decided_by = serializers.CharField()
    decision_note = serializers.CharField()
    ibu_target = serializers.FloatField()
    ibu_unchanged = serializers.FloatField()
    ibu_corrected = serializers.FloatField()
    ibu_spread = serializers.FloatField(help_text="One standard deviation.")
    rows = ProposedRowSerializer(many=True)
    limits = serializers.ListField(child=serializers.CharField())
    working = WorkingSerializer()


class JobsAskedSerializer(serializers.Serializer[Any]):
    """The jobs that do the work, one for each kit: watch them under jobs."""

    jobs = serializers.ListField(child=serializers.IntegerField())


class Proposals(Listing):
    """List proposals, newest first."""

    query = ProposalsAsked
    answer = ProposalSerializer

    def rows(self, **asked: Any) -> Sequence[ProposalRow]:
        return proposal_rows(state=asked.get("state", ""), most=None)


class ProposalInFull(Reading):
    """Return one proposal with its working."""

    answer = ProposalSerializer

    def found(self, **asked: Any) -> ProposalRow:
        return proposal_row(asked["proposal_id"])


class ProposalAccept(Act):
    """Accept new weights: reservations are replaced, the old sheet is void, a new one issued."""

    name = "accept_proposal"
    right = Right.DECIDE_PROPOSAL
    body = DecisionAsked
    result = ProposalSerializer

    def done(self, by: User, **asked: Any) -> ProposalRow:
        accept_proposal(by=by, proposal=_proposal(asked), note=asked.get("note", ""))
        return proposal_row(asked["proposal_id"])


class ProposalRefuse(Act):
    """Refuse new weights: the batch keeps its sheet."""

    name = "refuse_proposal"
    right = Right.DECIDE_PROPOSAL
    body = DecisionAsked
    result = ProposalSerializer

    def done(self, by: User, **asked: Any) -> ProposalRow:
        refuse_proposal(by=by, proposal=_proposal(asked), note=asked.get("note", ""))
        return proposal_row(asked["proposal_id"])


class Rebalance(Act):
    """Ask for the hop weights of reserved batches to be balanced again.

    Jobs do it; what would change waits as proposals.
    """

    name = "ask_rebalance"
    right = Right.RUN_JOB
    body = RebalanceAsked
    result = JobsAskedSerializer
    success = HTTPStatus.ACCEPTED

    def done(self, by: User, **asked: Any) -> dict[str, Any]:
        run: Run | None = asked.get("run")
        kit_ids = kits_of_run(run.pk) if run else kits_with_batches()
        cause = f"asked for run {run.code}" if run else "asked for all reserved batches"
        jobs = ask_rebalance(by=by, kit_ids=kit_ids, cause=cause)
        return {"jobs": [job.pk for job in jobs]}


def _proposal(asked: dict[str, Any]) -> Proposal:
    return get_object_or_404(Proposal, pk=asked["proposal_id"])
