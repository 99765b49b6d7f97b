"""The pages that plan a run and change it, with a look at the stock before either."""

from __future__ import annotations

from collections.abc import Callable
from http import HTTPStatus
from typing import Any

from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.refusals import status_of
from planning.models import Run
from planning.queries.kit_choices import KitChoice, kit_choices
from planning.queries.previews import RunPreview, asked_preview
from planning.services.runs import change_run, plan_run
from planning.web.run_forms import RunForm, form_of, new_form


@page(Right.PLAN_RUN, methods=("GET", "POST"))
def run_new(request: SignedInRequest) -> HttpResponse:
    """Plan a run."""
    choices = kit_choices(timezone.localdate())
    if request.method != "POST":
        return _shown(request, new_form(choices, timezone.localdate()))

    def work(form: RunForm) -> Run:
        cleaned = form.cleaned_data
        return plan_run(
            by=request.user,
            pack_on=cleaned["pack_on"],
            lines=form.asked(),
            note=cleaned["note"],
        )

    return _written(request, RunForm(choices, request.POST), work, said="is planned")


@page(Right.PLAN_RUN, methods=("GET", "POST"))
def run_change(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Change what a planned run packs, and when."""
    run = get_object_or_404(Run, pk=run_id)
    choices = _choices_for(run)
    if request.method != "POST":
        return _shown(request, form_of(run, choices), run=run)

    def work(form: RunForm) -> Run:
        cleaned = form.cleaned_data
        change_run(
            by=request.user,
            run=run,
            expected=cleaned["version"] or 0,
            pack_on=cleaned["pack_on"],
            lines=form.asked(),
            note=cleaned["note"],
        )
        return run

    return _written(request, RunForm(choices, request.POST), work, said="is changed", run=run)


@page(Right.PLAN_RUN, methods=("POST",))
def run_preview(request: SignedInRequest) -> HttpResponse:
    """Show what the kits on the form would take: a fragment, or the form with it below."""
    run = Run.objects.filter(pk=_number(request.POST.get("run"))).first()
    choices = _choices_for(run) if run else kit_choices(timezone.localdate())
    form = RunForm(choices, request.POST)
    preview = None
    if form.is_valid():
        preview = asked_preview(form.lines(run), form.cleaned_data["pack_on"])
    status = HTTPStatus.OK if preview else HTTPStatus.UNPROCESSABLE_ENTITY
    if request.htmx:
        context = {"preview": preview, "form": form}
        return render(request, "planning/_preview.html", context, status=status)
    return _shown(request, form, run=run, preview=preview, status=status)


def _choices_for(run: Run) -> list[KitChoice]:
    kit_ids = set(run.lines.values_list("kit_id", flat=True))
    return kit_choices(timezone.localdate(), also=kit_ids)


def _number(text: str | None) -> int:
    return int(text) if text and text.isascii() and text.isdecimal() and len(text) < 19 else 0


def _written(
    request: SignedInRequest,
    form: RunForm,
    work: Callable[[RunForm], Run],
    *,
    said: str,
    run: Run | None = None,
) -> HttpResponse:
    """Do what the form asks and go to the run; a refusal is shown above what was typed."""
    if not form.is_valid():
        return _shown(request, form, run=run, status=HTTPStatus.UNPROCESSABLE_ENTITY)
    try:
        done = answered(request, _payload(form), lambda: {"run": work(form).pk})
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return _shown(request, form, run=run, status=status_of(refusal))
    planned = Run.objects.get(pk=done["run"])
    messages.success(request, f"Run {planned.code} {said}.")
    return onward(request, "run-detail", planned.pk)


def _payload(form: RunForm) -> dict[str, Any]:
    return {name: value for name, value in form.cleaned_data.items() if value is not None}


def _shown(
    request: SignedInRequest,
    form: RunForm,
    *,
    run: Run | None = None,
    preview: RunPreview | None = None,
    status: int = HTTPStatus.OK,
) -> HttpResponse:
    context = {"form": form, "run": run, "preview": preview}
    return render(request, "planning/run_form.html", context, status=status)
