"""What is done to a run as a whole: reserve, give back, start, close, cancel."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from typing import Any

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from planning.models import Run
from planning.queries.cuts import run_plan
from planning.services.packing import close_run, start_packing
from planning.services.reserving import cancel_run, give_run_back, reserve_run
from planning.services.substituting import choose_substitutes


class ActForm(forms.Form):
    """The version a person started from, and why, where an act asks for a reason."""

    version = forms.IntegerField()
    reason = forms.CharField(max_length=200, required=False)


@page(Right.RESERVE_RUN, methods=("POST",))
def run_reserve(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Hold the stock for everything a run packs, or for nothing of it."""
    cut = run_plan(get_object_or_404(Run, pk=run_id))
    reserve = partial(reserve_run, cut=cut)
    return _acted(request, run_id, reserve, "is reserved; its sheets are issued")


@page(Right.PACK_RUN, methods=("POST",))
def run_start(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Begin to pack a reserved run."""
    return _acted(request, run_id, start_packing, "is being packed")


@page(Right.RESERVE_RUN, methods=("GET", "POST"))
def run_give_back(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Take a reserved run back to plan, once that is confirmed."""
    if request.method == "POST":
        return _acted(request, run_id, give_run_back, "is back to plan and holds no stock")
    return _asked(
        request,
        run_id,
        title="Give the stock back",
        what="Its batches end, what they reserved is free for other runs, and their sheets are "
        "void: a printed sheet must not be used any more. The run stays planned.",
        button="Give the stock back",
    )


@page(Right.PACK_RUN, methods=("GET", "POST"))
def run_close(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Close a run that is packed, once that is confirmed."""
    if request.method == "POST":
        return _acted(request, run_id, close_run, "is closed")
    return _asked(
        request,
        run_id,
        title="Close the run",
        what="A batch that is not packed yet is given back, and its sheet is void.",
        button="Close the run",
    )


@page(Right.PLAN_RUN, methods=("GET", "POST"))
def run_cancel(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Cancel a run, once that is confirmed."""
    if request.method == "POST":
        return _acted(request, run_id, cancel_run, "is cancelled", with_reason=True)
    return _asked(
        request,
        run_id,
        title="Cancel the run",
        what="Everything it reserved is given back, its sheets are void, and it is no "
        "requirement any more. This cannot be undone; plan a new run instead.",
        button="Cancel the run",
        reason="Why it is cancelled",
    )


class SubstituteForm(forms.Form):
    """Which row of which line, and what stands for it; nothing: the original again."""

    version = forms.IntegerField()
    line = forms.IntegerField()
    key = forms.CharField(max_length=24)
    substitute = forms.IntegerField(required=False)


@page(Right.PLAN_RUN, methods=("POST",))
def run_substitute(request: SignedInRequest, run_id: int) -> HttpResponse:
    """Use an approved substitute in a planned run, or the original again."""
    run = get_object_or_404(Run, pk=run_id)
    form = SubstituteForm(request.POST)
    if not form.is_valid():
        raise Refusal(
            "substitute-unclear",
            "The form does not say what is to stand for what.",
            "Open the run again and choose with the button beside the substitute.",
        )
    asked = form.cleaned_data

    def work() -> dict[str, Any]:
        choose_substitutes(
            by=request.user,
            run=run,
            expected=asked["version"],
            chosen={asked["line"]: {asked["key"]: asked["substitute"]}},
        )
        return {"run": run_id}

    answered(request, asked, work)
    said = "uses the substitute" if asked["substitute"] else "uses the original again"
    messages.success(request, f"Run {run.code} {said}.")
    return onward(request, "run-detail", run_id)


def _acted(
    request: SignedInRequest,
    run_id: int,
    act: Callable[..., Any],
    said: str,
    *,
    with_reason: bool = False,
) -> HttpResponse:
    run = get_object_or_404(Run, pk=run_id)
    form = ActForm(request.POST)
    expected = form.cleaned_data["version"] if form.is_valid() else 0
    more = {"reason": form.cleaned_data.get("reason", "")} if with_reason else {}

    def work() -> dict[str, Any]:
        act(by=request.user, run=run, expected=expected, **more)
        return {"run": run_id}

    answered(request, {"expected": expected, **more}, work)
    messages.success(request, f"Run {run.code} {said}.")
    return onward(request, "run-detail", run_id)


def _asked(
    request: SignedInRequest,
    run_id: int,
    *,
    title: str,
    what: str,
    button: str,
    reason: str = "",
) -> HttpResponse:
    run = get_object_or_404(Run, pk=run_id)
    context = {
        "thing": f"Run {run.code}",
        "back": reverse("run-detail", args=[run_id]),
        "version": run.version,
        "title": title,
        "what": what,
        "button": button,
        "reason": reason,
    }
    return render(request, "planning/confirm.html", context)
