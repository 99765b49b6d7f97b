"""The forms of a trial batch: recording it, its final gravity, and putting it right."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.core.exceptions import ValidationError
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone

from boxwort.quantities import Measure
from boxwort.roles import Right
from boxwort.web.amounts import AmountField, typed_amount
from boxwort.web.days import DayInput
from boxwort.web.doors import SignedInRequest, onward, page
from boxwort.web.submitting import submitted
from inventory.models.codes import CODE_LENGTH
from recipes.models import Method, TrialBatch
from recipes.queries.trials import trial_rows
from recipes.services.trials import (
    NOTE_LENGTH,
    correct_trial,
    measure_final_gravity,
    record_trial,
)
from recipes.web.gravity import GravityField
from recipes.web.trials import found_trial

_DIGITS = 4


def _past(day: Any) -> None:
    if day > timezone.localdate():
        msg = "This day has not come yet. Write the day it was brewed."
        raise ValidationError(msg)


class MeasuredForm(forms.Form):
    """What was measured of a trial batch."""

    brewed_on = forms.DateField(
        label="Brewed on", widget=DayInput, validators=[_past], initial=timezone.localdate
    )
    measured_og = GravityField(label="Original gravity, measured")
    measured_volume = AmountField(
        measure=Measure.VOLUME,
        unit="L",
        label="Wort into the fermenter, in L or with its unit",
        help_text="At 20 °C, with what was topped up.",
    )
    measured_fg = GravityField(
        label="Final gravity, measured",
        required=False,
        help_text="When it has stood still for days; it may follow later.",
    )
    note = forms.CharField(
        label="Note", required=False, max_length=NOTE_LENGTH, widget=forms.Textarea({"rows": 3})
    )


class RecordForm(MeasuredForm):
    """A new trial batch, with the code it goes by."""

    code = forms.CharField(
        label="Code of the trial",
        max_length=CODE_LENGTH,
        help_text="A-Z, 0-9 and hyphen; it may go on a label.",
    )
    field_order = ("code",)


class CorrectForm(MeasuredForm):
    """A trial batch put right, from the version that a person looked at."""

    version = forms.IntegerField(widget=forms.HiddenInput)


class FinalGravityForm(forms.Form):
    """The final gravity of a trial."""

    fg = GravityField(label="Final gravity, measured")
    version = forms.IntegerField(widget=forms.HiddenInput)


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def trial_record(request: SignedInRequest, method_id: int) -> HttpResponse:
    """Write down what came out when a method was brewed."""
    method = get_object_or_404(Method.objects.select_related("revision__recipe"), pk=method_id)
    recipe = method.revision.recipe
    amount, unit = typed_amount(method.finished_volume, Measure.VOLUME, request.user.units)
    usual = {
        "code": _next_code(recipe.code),
        "measured_volume": f"{amount} {unit}",
    }
    form = RecordForm(request.POST) if request.method == "POST" else RecordForm(initial=usual)
    words = {
        "thing": f"{method.revision}, {method.get_kind_display().lower()}",
        "back": reverse("recipe-revision", args=[recipe.code, method.revision.number]),
        "title": "Record a trial batch",
        "what": "It is kept beside the method as it is today, so that later changes of the draft "
        "do not move what it is compared with.",
        "button": "Record the trial",
    }

    def work() -> dict[str, Any]:
        return {"trial": record_trial(by=request.user, method=method, **form.cleaned_data).pk}

    return _entered(request, form, words, work, "is recorded")


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def trial_final_gravity(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Write down the final gravity of a trial."""
    trial = found_trial(trial_id)
    form = (
        FinalGravityForm(request.POST)
        if request.method == "POST"
        else FinalGravityForm(initial={"version": trial.version})
    )
    words = {
        **_words(trial),
        "title": "Final gravity",
        "what": f"It began at {trial.measured_og:.3f}. Read it twice, days apart: when both "
        "readings are the same, fermentation is over.",
        "button": "Write it down",
    }

    def work() -> dict[str, Any]:
        fg, version = form.cleaned_data["fg"], form.cleaned_data["version"]
        measure_final_gravity(by=request.user, trial=trial, fg=fg, expected=version)
        return {"trial": trial.pk}

    return _entered(request, form, words, work, "has its final gravity")


@page(Right.WRITE_RECIPE, methods=("GET", "POST"))
def trial_correct(request: SignedInRequest, trial_id: int) -> HttpResponse:
    """Put right what was written down wrongly of a trial."""
    trial = found_trial(trial_id)
    form = CorrectForm(request.POST) if request.method == "POST" else _filled(request, trial)
    words = {
        **_words(trial),
        "title": "Correct the trial",
        "what": "What it said before stays in its history.",
        "button": "Put it right",
    }

    def work() -> dict[str, Any]:
        said = dict(form.cleaned_data)
        expected = said.pop("version")
        correct_trial(by=request.user, trial=trial, expected=expected, **said)
        return {"trial": trial.pk}

    return _entered(request, form, words, work, "is put right")


def _filled(request: SignedInRequest, trial: TrialBatch) -> CorrectForm:
    amount, unit = typed_amount(trial.measured_volume, Measure.VOLUME, request.user.units)
    fg = trial.measured_fg
    return CorrectForm(
        initial={
            "brewed_on": trial.brewed_on,
            "measured_og": f"{trial.measured_og:.{_DIGITS}f}",
            "measured_volume": f"{amount} {unit}",
            "measured_fg": "" if fg is None else f"{fg:.{_DIGITS}f}",
            "note": trial.note,
            "version": trial.version,
        }
    )


def _words(trial: TrialBatch) -> dict[str, str]:
    return {"thing": f"Trial {trial}", "back": reverse("trial-detail", args=[trial.pk])}


def _next_code(recipe_code: str) -> str:
    """Return a code that is free: the recipe's, T and the next number, as long as a label takes."""
    taken = {row.code for row in trial_rows(recipe_code=recipe_code)}
    for number in range(1, len(taken) + 2):
        mark = f"-T{number}"
        code = f"{recipe_code[: CODE_LENGTH - len(mark)].rstrip('-')}{mark}"
        if code not in taken:
            return code
    raise AssertionError  # pragma: no cover - one more number than codes taken


def _entered(
    request: SignedInRequest,
    form: forms.Form,
    words: dict[str, str],
    work: Callable[[], dict[str, Any]],
    said: str,
) -> HttpResponse:
    status: int = HTTPStatus.OK
    if request.method == "POST":
        done = submitted(request, form, work)
        if done.answer is not None:
            messages.success(request, f"The trial {said}.")
            return onward(request, "trial-detail", done.answer["trial"])
        status = done.status
    return render(request, "web/act.html", {**words, "form": form}, status=status)
