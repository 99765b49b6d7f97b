"""What is said of a lot over the API: its analyses, and whether it may be used."""

from __future__ import annotations

from dataclasses import asdict
from decimal import Decimal
from http import HTTPStatus
from typing import Any

from django.shortcuts import get_object_or_404
from rest_framework import serializers

from boxwort.accounts.models import User
from boxwort.roles import Right
from boxwort.web.operations_api import Act, VersionAsked, not_to_come
from inventory.api.shapes import AnalysisSerializer, LotDetailSerializer
from inventory.models import Analysis, AnalysisKind, Lot
from inventory.models.analyses import BASIS_CHOICES, METHOD_CHOICES
from inventory.queries.lots import LotRow, lot_row
from inventory.queries.moves import AnalysisRow, analyses_of
from inventory.services.analyses import record_analysis
from inventory.services.certificates import UNIT_NAMES, said
from inventory.services.entries import REASON_LENGTH
from inventory.services.lots import hold_lot, reject_lot, release_lot


class AnalysisAsked(serializers.Serializer[Any]):
    """One measured value, as ``value`` in the unit of the books, or as the certificate gives it.

    In the books alpha acid, moisture and viability are shares (0.05 for 5 %), extract is in
    litre-degrees per kg, colour in degrees L and power in degrees Lintner.
    """

    kind = serializers.ChoiceField(choices=AnalysisKind.choices)
    sampled_on = serializers.DateField(validators=[not_to_come])
    value = serializers.FloatField(required=False)
    given_value = serializers.DecimalField(
        required=False, max_digits=21, decimal_places=9, min_value=Decimal(0)
    )
    given_unit = serializers.ChoiceField(choices=UNIT_NAMES, required=False)
    spread = serializers.FloatField(
        required=False, allow_null=True, help_text="One relative standard deviation."
    )
    method = serializers.ChoiceField(choices=METHOD_CHOICES, required=False)
    basis = serializers.ChoiceField(choices=BASIS_CHOICES, required=False)
    at_harvest = serializers.BooleanField(
        required=False,
        help_text="An alpha acid known from the harvest, not measured on a sample of this lot.",
    )
    supersedes = serializers.PrimaryKeyRelatedField(
        queryset=Analysis.objects.all(),
        required=False,
        allow_null=True,
        help_text="The id of an analysis of this lot that was wrong.",
    )

    def validate_kind(self, value: str) -> AnalysisKind:
        """Return the kind as the stock room names it."""
        return AnalysisKind(value)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Put what the certificate gives to the unit of the books."""
        given = {"given_value", "given_unit"} & attrs.keys()
        if ("value" in attrs) == bool(given) or len(given) == 1:
            msg = "Give either value, or given_value with given_unit."
            raise serializers.ValidationError(msg)
        if given:
            found = said(attrs["kind"], attrs.pop("given_value"), attrs.pop("given_unit"))
            attrs |= asdict(found)
        return attrs


class VerdictAsked(VersionAsked):
    """A change of a lot's status, and why."""

    reason = serializers.CharField(max_length=REASON_LENGTH, required=False, allow_blank=True)


class LotAnalysis(Act):
    """Record an analysis of a lot.

    Reserved batches that hold a hop lot are re-balanced by a job after a new alpha acid.
    """

    name = "record_analysis"
    right = Right.RECORD_ANALYSIS
    body = AnalysisAsked
    result = AnalysisSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> AnalysisRow:
        lot = _lot(asked.pop("lot_id"))
        made = record_analysis(by=by, lot=lot, **asked)
        return next(row for row in analyses_of(lot.pk) if row.id == made.pk)


class LotRelease(Act):
    """Release a lot: it may be used from now on."""

    name = "release_lot"
    right = Right.RELEASE_LOT
    body = VerdictAsked
    result = LotDetailSerializer

    def done(self, by: User, **asked: Any) -> LotRow | None:
        lot = release_lot(by=by, **_verdict(asked))
        return lot_row(lot.pk)


class LotHold(Act):
    """Put a lot on hold: it may not be used; what is reserved stays reserved."""

    name = "hold_lot"
    right = Right.RELEASE_LOT
    body = VerdictAsked
    result = LotDetailSerializer

    def done(self, by: User, **asked: Any) -> LotRow | None:
        lot = hold_lot(by=by, **_verdict(asked))
        return lot_row(lot.pk)


class LotReject(Act):
    """Reject a lot for good: all its reservations end."""

    name = "reject_lot"
    right = Right.RELEASE_LOT
    body = VerdictAsked
    result = LotDetailSerializer

    def done(self, by: User, **asked: Any) -> LotRow | None:
        lot = reject_lot(by=by, **_verdict(asked))
        return lot_row(lot.pk)


def _lot(lot_id: int) -> Lot:
    return get_object_or_404(Lot.objects.select_related("item"), pk=lot_id)


def _verdict(asked: dict[str, Any]) -> dict[str, Any]:
    """Return the lot, the version and the reason as the services take them."""
    return {
        "lot": _lot(asked["lot_id"]),
        "expected": asked["version"],
        "reason": asked.get("reason", ""),
    }
