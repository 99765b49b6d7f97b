"""Trial batches for reading: the list, and one with what it measured against what was predicted."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from django.db.models import QuerySet

from boxwort.errors import Refusal
from boxwort.figures import rounded, share
from boxwort.quantities import UL_PER_L
from boxwort.working import Working
from recipes.brewing.alcohol import alcohol_by_volume
from recipes.brewing.calibration import Calibration
from recipes.brewing.figures import Figures
from recipes.brewing.gravity import points_from_sg, sg_from_points
from recipes.models import TrialBatch
from recipes.queries.calibrations import trial_calibration
from recipes.queries.contents import brew_of, completed
from recipes.queries.figures import computed

_WORTH_SAYING = 0.01  # of a volume or a share: less is within what a good eye reads


@dataclass(frozen=True, kw_only=True)
class TrialRow:
    """One trial batch as it was measured; gravities SG, volumes in microlitres.

    ``conversion`` is the code of the work that took its stock, ``accepted_number`` the revision
    that took its calibration over, ``predicted_og`` None where the method has no figures.
    """

    id: int
    version: int
    code: str
    recipe_code: str
    recipe_name: str
    revision_id: int
    revision_number: int
    method_id: int
    method_label: str
    brewed_on: date
    measured_og: float
    measured_fg: float | None
    measured_volume: int
    planned_volume: int
    predicted_og: float | None
    note: str
    recorded_by: str
    conversion: str
    accepted_number: int | None

    @property
    def more_volume(self) -> int:
        """Wort measured less what was planned."""
        return self.measured_volume - self.planned_volume

    @property
    def volume_apart(self) -> int:
        """How far the wort is from what was planned, either way."""
        return abs(self.more_volume)


@dataclass(frozen=True, kw_only=True)
class ComparedRow:
    """One figure measured against what was predicted; None where it was not measured yet."""

    figure: str
    name: str
    predicted: float
    measured: float | None

    @property
    def difference(self) -> float | None:
        """Measured less predicted."""
        return None if self.measured is None else self.measured - self.predicted


@dataclass(frozen=True, kw_only=True)
class TrialDetail:
    """One trial: measured beside predicted, in words why, and what it says of its method.

    ``others`` is how many more trials the method has. ``calibration`` is None where ``problem``
    says why; ``abv`` is the measured alcohol.
    """

    row: TrialRow
    others: int
    predicted: Figures | None
    compared: tuple[ComparedRow, ...]
    abv: Working | None
    explained: tuple[str, ...]
    calibration: Calibration | None
    problem: str


def trial_rows(*, recipe_code: str = "", method_id: int | None = None) -> list[TrialRow]:
    """Return the trial batches, the newest first, of a recipe or a method; one statement."""
    trials = _trials()
    if recipe_code:
        trials = trials.filter(method__revision__recipe__code=recipe_code)
    if method_id is not None:
        trials = trials.filter(method=method_id)
    return [_row(trial) for trial in trials.order_by("-brewed_on", "-pk")]


def trial_in_full(trial_id: int) -> TrialBatch:
    """Return a trial with what belongs to it; one statement.

    Raises
    ------
    TrialBatch.DoesNotExist: there is no such trial.
    """
    return _trials().get(pk=trial_id)


def trial_detail(trial: TrialBatch) -> TrialDetail:
    """Return one trial, read by :func:`trial_in_full`; one statement more."""
    predicted = _predicted(trial)
    calibration, problem = None, ""
    try:
        calibration = trial_calibration(trial)
    except Refusal as refusal:
        problem = str(refusal)
    abv = None
    if trial.measured_fg is not None:
        abv = alcohol_by_volume(trial.measured_og, trial.measured_fg)
    return TrialDetail(
        row=_row(trial),
        others=TrialBatch.objects.filter(method=trial.method_id).exclude(pk=trial.pk).count(),
        predicted=predicted,
        compared=tuple(_compared(trial, predicted, abv)) if predicted else (),
        abv=abv,
        explained=tuple(_explained(trial, calibration)) if calibration else (),
        calibration=calibration,
        problem=problem,
    )


def _trials() -> QuerySet[TrialBatch]:
    return TrialBatch.objects.select_related(
        "method__revision__recipe", "recorded_by", "conversion", "accepted_revision__recipe"
    )


def _predicted(trial: TrialBatch) -> Figures | None:
    try:
        return computed(brew_of(completed(trial.content)))
    except Refusal:
        return None


def _compared(trial: TrialBatch, predicted: Figures, abv: Working | None) -> Iterator[ComparedRow]:
    for figure, measured in (
        ("og", trial.measured_og),
        ("fg", trial.measured_fg),
        ("abv", abv.value if abv else None),
    ):
        working: Working = getattr(predicted, figure)
        yield ComparedRow(
            figure=figure, name=working.name, predicted=working.value, measured=measured
        )


def _explained(trial: TrialBatch, calibration: Calibration) -> Iterator[str]:
    """Yield in words what made the trial another beer than was predicted."""
    planned, effect = calibration.planned, calibration.effect
    more_l = trial.measured_volume / UL_PER_L - planned.finished_volume_l
    if abs(more_l) > _WORTH_SAYING * planned.finished_volume_l:
        wort_l = planned.wort_volume_l
        points = points_from_sg(effect.before.og.value) * wort_l / (wort_l + more_l)
        word = "more" if more_l > 0 else "less"
        yield (
            f"{rounded(abs(more_l), 1)} L {word} wort than planned: the planned extract in it "
            f"would read {rounded(sg_from_points(points), 3)}."
        )
    efficiency, attenuation = calibration.mash_efficiency, calibration.attenuation
    if efficiency is not None:
        moved = effect.after.og.value - effect.before.og.value
        yield (
            f"The mash gave {share(efficiency)} of its extract where "
            f"{share(planned.mash_efficiency)} is reckoned with: {_signed(moved)} of original "
            "gravity in the planned volume."
        )
    if attenuation is not None:
        yield (
            f"The yeast attenuated {share(attenuation)} where {share(planned.attenuation)} is "
            "reckoned with."
        )


def _signed(difference: float) -> str:
    written = rounded(difference, 3)
    return f"+{written}" if difference > 0 else written


def _row(trial: TrialBatch) -> TrialRow:
    revision = trial.method.revision
    predicted = _predicted(trial)
    accepted = trial.accepted_revision
    return TrialRow(
        id=trial.pk,
        version=trial.version,
        code=trial.code,
        recipe_code=revision.recipe.code,
        recipe_name=revision.recipe.name,
        revision_id=revision.pk,
        revision_number=revision.number,
        method_id=trial.method_id,
        method_label=trial.method.get_kind_display(),
        brewed_on=trial.brewed_on,
        measured_og=trial.measured_og,
        measured_fg=trial.measured_fg,
        measured_volume=trial.measured_volume,
        planned_volume=trial.content["finished_volume"],
        predicted_og=predicted.og.value if predicted else None,
        note=trial.note,
        recorded_by=trial.recorded_by.named,
        conversion=trial.conversion.code if trial.conversion else "",
        accepted_number=accepted.number if accepted else None,
    )
