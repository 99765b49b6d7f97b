"""The demand grid: weeks across, kits down, typed into like a sheet."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta
from http import HTTPStatus
from typing import Any
from urllib.parse import urlencode

from django.contrib import messages
from django.http import HttpResponse, QueryDict
from django.shortcuts import render
from django.urls import reverse
from django.utils import timezone

from boxwort.accounts.services import plain
from boxwort.errors import Refusal
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, answered, onward, page
from boxwort.web.refusals import status_of
from planning.queries.customer_orders import orderable_kits
from planning.queries.demand import DemandGrid, demand_grid
from planning.services.forecast import set_forecast
from planning.web.demand_forms import KIT, DemandForm, WindowForm

MOST_KITS_ADDED = 100


@page(Right.READ)
def demand_list(request: SignedInRequest) -> HttpResponse:
    """Show the kits wanted in some weeks: what is foreseen, ordered, and left to come."""
    return _shown(request, DemandForm(_grid(request.GET)))


@page(Right.PLAN_RUN, methods=("POST",))
def demand_save(request: SignedInRequest) -> HttpResponse:
    """Set the forecast as it was typed, all of it or nothing."""
    form = DemandForm(_grid(request.POST), request.POST)
    if not form.is_valid():
        return _shown(request, form, status=HTTPStatus.UNPROCESSABLE_ENTITY)

    def work() -> dict[str, Any]:
        return {"set": set_forecast(by=request.user, cells=form.cells(), shown=form.shown())}

    try:
        done = answered(request, plain(form.cleaned_data), work)
    except Refusal as refusal:
        form.add_error(None, f"{refusal.what} {refusal.remedy}")
        return _shown(request, form, status=status_of(refusal))
    number = done["set"]
    said = f"{number} cell{'' if number == 1 else 's'} of the forecast changed."
    messages.success(request, said if number else "The forecast stands as it was.")
    return onward(request, _address(form.grid, form.grid.weeks[0], _kits(request.POST)))


def _grid(asked: Mapping[str, Any]) -> DemandGrid:
    on, weeks = WindowForm(asked).window(timezone.localdate())
    return demand_grid(_possible(on), weeks, also=_kits(asked))


def _possible(on: date) -> date:
    """Return a day about which there are weeks to show."""
    today = timezone.localdate()
    years = timedelta(days=3653)
    return min(max(on, today - years), today + years)


def _kits(asked: Any) -> list[str]:
    """Return the codes of kits that were added to the grid."""
    return [code for code in asked.getlist(KIT) if code and "\0" not in code][:MOST_KITS_ADDED]


def _address(grid: DemandGrid, on: date, kits: list[str]) -> str:
    asked = {"on": on.isoformat(), "weeks": len(grid.weeks), KIT: kits}
    return f"{reverse('demand-list')}?{urlencode(asked, doseq=True)}"


def _shown(request: SignedInRequest, form: DemandForm, status: int = HTTPStatus.OK) -> HttpResponse:
    grid = form.grid
    asked: QueryDict = request.POST if request.method == "POST" else request.GET
    added = _kits(asked)
    span = timedelta(weeks=len(grid.weeks))
    shown = {row.kit_code for row in grid.rows}
    context = {
        "form": form,
        "grid": grid,
        "added": added,
        "others": [kit for kit in orderable_kits() if kit.item.code not in shown],
        "earlier": _address(grid, grid.weeks[0] - span, added),
        "later": _address(grid, grid.weeks[0] + span, added),
        "now": _address(grid, timezone.localdate(), added),
    }
    return render(request, "planning/demand_list.html", context, status=status)
