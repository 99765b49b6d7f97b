"""The pages of trial batches: the list, one trial beside its prediction, and what it shows."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.paging import page_of
from boxwort.web.submitting import submitted
from recipes.models import Recipe, TrialBatch
from recipes.queries.calibrations import Effect, Shown, Wanted, calibration_of, effect_of
from recipes.queries.trials import TrialDetail, trial_in_full, trial_rows
from recipes.queries.trials import trial_detail as trial_in_detail
from recipes.services.trials import accept_calibration

ONE, ALL = "one", "all"
KEEP, RESCALE = "keep", "rescale"
_OF = [(ONE, "This trial alone"), (ALL, "All trials, their mean")]
_AMOUNTS = [
    (KEEP, "Kept: the beer changes"),
    (RESCALE, "Scaled: the gravity stays"),
]


class CalibrationForm(forms.Form):
    """What of a calibration is taken over, and what becomes of the amounts."""

    of = forms.ChoiceField(label="Calibrated by", choices=_OF)
    efficiency = forms.BooleanField(label="Take the mash efficiency", required=False)
    attenuation = forms.BooleanField(label="Take the attenuation", required=False)
    amounts = forms.ChoiceField(label="Amounts", choices=_AMOUNTS)

    def wanted(self) -> Wanted:
        """Return what was chosen."""
        chosen = self.cleaned_data
        return Wanted(
            efficiency=chosen["efficiency"],
            attenuation=chosen["attenuation"],
            pooled=chosen["of"] == ALL,
            rescale=chosen["amounts"] == RESCALE,
        )


class AcceptForm(CalibrationForm):
    """The choice, with the version of the trial that a person looked at."""

    version = forms.IntegerField(widget=forms.HiddenInput)


@dataclass(frozen=True, kw_only=True)
class Outlook:
    """What the chosen calibration shows and does; ``problem`` says why it does nothing."""

    shown: Shown | None = None
    effect: Effect | None = None
    problem: str = ""


@page(Right.READ)
def trial_list(request: SignedInRequest, code: str) -> HttpResponse:
    """List the trial batches of a recipe, the newest first."""
    recipe = get_object_or_404(Recipe, code=code)
    context = {"recipe": recipe, "page": page_of(request, trial_rows(recipe_code=code))}
    return render(request, "recipes/trial_list.html", context)


@page(Right.READ)
def trial_detail(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Show a trial: measured beside predicted, and what its calibration would do."""
    trial = found_trial(trial_id)
    detail = trial_in_detail(trial)
    asked = request.GET if "amounts" in request.GET else _usual(detail)
    form = CalibrationForm(asked)
    status = HTTPStatus.OK if form.is_valid() else HTTPStatus.UNPROCESSABLE_ENTITY
    return _shown(request, trial, detail, form, status=status)


@page(Right.WRITE_RECIPE, methods=("POST",))
def trial_accept(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Start a revision that takes the calibration over."""
    trial = found_trial(trial_id)
    form = AcceptForm(request.POST)

    def work() -> dict[str, Any]:
        revision = accept_calibration(
            by=request.user,
            trial=trial,
            expected=form.cleaned_data["version"],
            wanted=form.wanted(),
        )
        return {"recipe": revision.recipe.code, "number": revision.number}

    done = submitted(request, form, work)
    if done.answer is None:
        return _shown(request, trial, trial_in_detail(trial), form, status=done.status)
    messages.success(request, f"Revision {done.answer['number']} is started, a draft.")
    return onward(request, "recipe-revision", done.answer["recipe"], done.answer["number"])


def found_trial(trial_id: int) -> TrialBatch:
    """Return a trial, or answer that there is none."""
    try:
        return trial_in_full(trial_id)
    except TrialBatch.DoesNotExist as missing:
        raise Http404 from missing


def _usual(detail: TrialDetail) -> Mapping[str, str]:
    """Return what is shown first: all that the trials show, the amounts kept."""
    chosen = {"of": ALL if detail.others else ONE, "amounts": KEEP}
    known = detail.calibration
    if known and known.mash_efficiency is not None:
        chosen["efficiency"] = "on"
    if known and known.attenuation is not None:
        chosen["attenuation"] = "on"
    return chosen


def _shown(
    request: SignedInRequest,
    trial: TrialBatch,
    detail: TrialDetail,
    form: CalibrationForm,
    *,
    status: int,
) -> HttpResponse:
    context = {
        "trial": detail.row,
        "detail": detail,
        "form": form,
        "outlook": _outlook(trial, form) if detail.calibration and form.is_bound else Outlook(),
    }
    return render(request, "recipes/trial_detail.html", context, status=status)


def _outlook(trial: TrialBatch, form: CalibrationForm) -> Outlook:
    if not {"of", "amounts"} <= set(form.cleaned_data):
        return Outlook()
    wanted = form.wanted()
    try:
        shown = calibration_of(trial, all_of_method=wanted.pooled)
    except Refusal as refusal:
        return Outlook(problem=str(refusal))
    try:
        effect = effect_of(trial, shown.taken(wanted), rescale=wanted.rescale)
    except Refusal as refusal:
        return Outlook(shown=shown, problem=f"{refusal.what} {refusal.remedy}")
    return Outlook(shown=shown, effect=effect)
