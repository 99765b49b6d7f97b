"""Trial batches over the API: recorded, measured, and their calibration taken over."""

from __future__ import annotations

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any

from django.http import Http404
from rest_framework import serializers
from rest_framework.exceptions import ValidationError

from boxwort.accounts.models import User
from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts_api import AmountAsked, QuantityField, in_stock
from boxwort.web.operations_api import Act, Listing, Reading, VersionAsked, not_to_come
from boxwort.web.workings_api import WorkingSerializer
from inventory.models.codes import CODE_LENGTH
from recipes.models import Method, TrialBatch
from recipes.queries.calibrations import Wanted
from recipes.queries.trials import TrialDetail, TrialRow, trial_detail, trial_in_full, trial_rows
from recipes.services.trials import (
    LOWEST_FG,
    NOTE_LENGTH,
    OG_LIMITS,
    accept_calibration,
    measure_final_gravity,
    record_trial,
)


class TrialSerializer(serializers.Serializer[Any]):
    """A trial batch as it was measured; gravities are SG."""

    id = serializers.IntegerField()
    version = serializers.IntegerField()
    code = serializers.CharField()
    recipe = serializers.CharField(source="recipe_code")
    revision = serializers.IntegerField(source="revision_number")
    method_id = serializers.IntegerField()
    method = serializers.CharField(source="method_label")
    brewed_on = serializers.DateField()
    measured_og = serializers.FloatField()
    measured_fg = serializers.FloatField(allow_null=True)
    measured_volume = QuantityField(measure=Measure.VOLUME)
    planned_volume = QuantityField(measure=Measure.VOLUME)
    predicted_og = serializers.FloatField(allow_null=True)
    note = serializers.CharField()
    recorded_by = serializers.CharField()
    conversion = serializers.CharField(help_text="The work that took its stock.")
    accepted_revision = serializers.IntegerField(
        source="accepted_number", allow_null=True, help_text="What took its calibration over."
    )


class ComparedSerializer(serializers.Serializer[Any]):
    """One figure measured against what was predicted."""

    figure = serializers.ChoiceField(choices=["og", "fg", "abv"])
    name = serializers.CharField()
    predicted = serializers.FloatField()
    measured = serializers.FloatField(allow_null=True)
    difference = serializers.FloatField(allow_null=True)


class CalibrationSerializer(serializers.Serializer[Any]):
    """What a trial says of its method; shares, null where it says nothing."""

    mash_efficiency = serializers.FloatField(allow_null=True)
    attenuation = serializers.FloatField(allow_null=True)
    workings = WorkingSerializer(many=True)
    notes = serializers.ListField(child=serializers.CharField())


class TrialDetailSerializer(serializers.Serializer[Any]):
    """A trial beside its prediction, with what it shows of the method."""

    trial = TrialSerializer(source="row")
    compared = ComparedSerializer(many=True)
    explained = serializers.ListField(child=serializers.CharField())
    calibration = CalibrationSerializer(allow_null=True)
    problem = serializers.CharField(help_text="Why there is no calibration.")


class TrialsAsked(serializers.Serializer[Any]):
    """Which trial batches."""

    recipe = serializers.CharField(
        required=False, allow_blank=True, help_text="Only those of the recipe with this code."
    )


def _og(**kwargs: Any) -> serializers.FloatField:
    return serializers.FloatField(min_value=OG_LIMITS[0], max_value=OG_LIMITS[1], **kwargs)


def _fg(**kwargs: Any) -> serializers.FloatField:
    return serializers.FloatField(min_value=LOWEST_FG, max_value=OG_LIMITS[1], **kwargs)


class TrialAsked(serializers.Serializer[Any]):
    """What came out when a method was brewed; gravities are SG."""

    code = serializers.CharField(max_length=CODE_LENGTH)
    method = serializers.PrimaryKeyRelatedField(
        queryset=Method.objects.all(), help_text="The id of a method of a revision."
    )
    brewed_on = serializers.DateField(validators=[not_to_come])
    measured_og = _og()
    measured_fg = _fg(required=False, allow_null=True, help_text="It may follow later.")
    measured_volume = AmountAsked(help_text="Of wort at 20 C into the fermenter.")
    note = serializers.CharField(max_length=NOTE_LENGTH, required=False, allow_blank=True)

    def validate(self, attrs: dict[str, Any]) -> dict[str, Any]:
        """Turn the volume into what the books are kept in."""
        try:
            attrs["measured_volume"] = in_stock(attrs["measured_volume"], Measure.VOLUME)
        except ValidationError as wrong:
            raise ValidationError({"measured_volume": wrong.detail}) from wrong
        return attrs


class FinalGravityAsked(VersionAsked):
    """The final gravity of a trial, SG."""

    fg = _fg()


class AcceptAsked(VersionAsked):
    """What of a trial a new revision takes over."""

    efficiency = serializers.BooleanField(default=True)
    attenuation = serializers.BooleanField(default=True)
    pooled = serializers.BooleanField(
        default=False, help_text="Of all the trials of the method, their mean."
    )
    rescale = serializers.BooleanField(
        default=False, help_text="Scale the amounts, so that the original gravity stays."
    )


class AcceptedSerializer(serializers.Serializer[Any]):
    """The revision that took a calibration over, a draft."""

    recipe = serializers.CharField(source="recipe.code")
    number = serializers.IntegerField()
    reason = serializers.CharField()


class Trials(Listing, Act):
    """List trial batches, the newest first."""

    query = TrialsAsked
    answer = TrialSerializer
    rights_by_method = {"POST": Right.WRITE_RECIPE}
    name = "record_trial"
    body = TrialAsked
    result = TrialDetailSerializer
    success = HTTPStatus.CREATED

    def rows(self, **asked: Any) -> Sequence[TrialRow]:
        return trial_rows(recipe_code=asked.get("recipe", ""))

    def done(self, by: User, **asked: Any) -> TrialDetail:
        """Record a trial batch.

        It is kept beside the method as it is today.
        """
        trial = record_trial(by=by, **asked)
        return trial_detail(trial_in_full(trial.pk))


class TrialInFull(Reading):
    """Return one trial beside its prediction, with its calibration."""

    answer = TrialDetailSerializer

    def found(self, **asked: Any) -> TrialDetail:
        return trial_detail(trial_in_full(asked["trial_id"]))


class _TrialAct(Act):
    """An act on one trial batch."""

    right = Right.WRITE_RECIPE

    def trial(self, trial_id: int) -> TrialBatch:
        """Return the trial with what belongs to it, or answer that there is none."""
        try:
            return trial_in_full(trial_id)
        except TrialBatch.DoesNotExist as missing:
            raise Http404 from missing


class TrialFinalGravity(_TrialAct):
    """Write down the final gravity of a trial."""

    name = "measure_final_gravity"
    body = FinalGravityAsked
    result = TrialDetailSerializer

    def done(self, by: User, **asked: Any) -> TrialDetail:
        """Write down the final gravity of a trial."""
        trial = self.trial(asked["trial_id"])
        measure_final_gravity(by=by, trial=trial, fg=asked["fg"], expected=asked["version"])
        return trial_detail(trial)


class TrialAccept(_TrialAct):
    """Start a revision that takes over what a trial showed."""

    name = "accept_calibration"
    body = AcceptAsked
    result = AcceptedSerializer
    success = HTTPStatus.CREATED

    def done(self, by: User, **asked: Any) -> Any:
        """Start a revision that takes over what a trial showed."""
        chosen = ("efficiency", "attenuation", "pooled", "rescale")
        return accept_calibration(
            by=by,
            trial=self.trial(asked["trial_id"]),
            expected=asked["version"],
            wanted=Wanted(**{name: asked[name] for name in chosen}),
        )
