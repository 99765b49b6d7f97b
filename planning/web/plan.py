"""The plan: what is late, which runs to plan, what to order; and the plans that were kept."""

from __future__ import annotations

from http import HTTPStatus
from typing import Any

from django import forms
from django.contrib import messages
from django.http import Http404, HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from inventory.models import Item
from planning.engine.plan import planned
from planning.models import Plan
from planning.queries.item_phases import item_phases
from planning.queries.plan_figures import changes_since, kept_plan
from planning.queries.plan_input import plan_input
from planning.queries.plan_rows import plan_page, suggestions
from planning.services.keeping_plans import TakenUp, keep_plan, take_up_suggestions


class NoteForm(forms.Form):
    """Why a plan is kept."""

    note = forms.CharField(label="Note", max_length=200, required=False)


@page(Right.READ)
def plan_detail(request: SignedInRequest) -> HttpResponse:
    """Show the plan as of today."""
    return _shown(request, NoteForm())


@page(Right.READ)
def plan_item(request: SignedInRequest, item_id: int) -> HttpResponse:
    """Show one item of the plan through its weeks, with what serves what."""
    try:
        found = item_phases(timezone.localdate(), item_id)
    except Item.DoesNotExist:
        raise Http404 from None
    return render(request, "planning/plan_item.html", {"found": found, "item": found.item})


@page(Right.READ)
def plan_kept(request: SignedInRequest, plan_id: int) -> HttpResponse:
    """Show what the plan orders and packs otherwise than one that was kept."""
    try:
        kept = kept_plan(plan_id)
    except Plan.DoesNotExist:
        raise Http404 from None
    changes = changes_since(kept, planned(plan_input(timezone.localdate())))
    return render(request, "planning/plan_kept.html", {"kept": kept, "changes": changes})


@page(Right.PLAN_RUN, methods=("POST",))
def plan_keep(request: SignedInRequest) -> HttpResponse:
    """Keep the plan as it is now."""
    form = NoteForm(request.POST)
    if not form.is_valid():
        return _shown(request, form, HTTPStatus.UNPROCESSABLE_ENTITY)
    note = form.cleaned_data["note"]
    plan = planned(plan_input(timezone.localdate()))

    def work() -> dict[str, Any]:
        return {"plan": keep_plan(by=request.user, plan=plan, note=note).pk}

    kept = answered(request, {"note": note}, work)["plan"]
    messages.success(request, "The plan is kept. What changes from now on is shown against it.")
    return onward(request, "plan-kept", kept)


@page(Right.PLAN_RUN, methods=("POST",))
def plan_take_up(request: SignedInRequest) -> HttpResponse:
    """Plan the suggested runs that were chosen."""
    chosen = [_taken_up(text) for text in request.POST.getlist("run")]
    standing = suggestions(timezone.localdate())

    def work() -> dict[str, Any]:
        runs = take_up_suggestions(by=request.user, standing=standing, chosen=chosen)
        return {"runs": [run.code for run in runs]}

    codes = answered(request, {"runs": request.POST.getlist("run")}, work)["runs"]
    what = f"Run {codes[0]} is" if len(codes) == 1 else f"Runs {', '.join(codes)} are"
    messages.success(request, f"{what} planned. No stock is held until they are reserved.")
    return onward(request, "plan-detail")


def _taken_up(text: str) -> TakenUp:
    """Read a suggestion as its button names it: ``2026-12-04-0:12=24,15=10``."""
    key, _, listed = text.partition(":")
    pairs = [part.partition("=") for part in listed.split(",")]
    kits = [(_number(kit), _number(number)) for kit, _, number in pairs]
    return TakenUp(key=key, kits=tuple(kits))


def _number(text: str) -> int:
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 19 else 0


def _shown(request: SignedInRequest, form: NoteForm, status: int = HTTPStatus.OK) -> HttpResponse:
    plan = plan_page(timezone.localdate())
    context = {"plan": plan, "form": form, "purchases": plan.purchases}
    return render(request, "planning/plan_detail.html", context, status=status)
