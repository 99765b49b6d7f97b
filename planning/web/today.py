"""The page a day starts on: what is to be done, in the order of each role."""

from __future__ import annotations

from collections.abc import Callable

from django.http import HttpResponse
from django.shortcuts import render
from django.utils import timezone

from boxwort.roles import Right, Role
from boxwort.web.doors import SignedInRequest, page
from inventory.queries.items import any_item
from planning.queries.today import Day, day

SECTIONS: dict[str, Callable[[Day], bool]] = {
    "runs": lambda _: True,
    "proposals": lambda shown: bool(shown.proposals),
    "purchases": lambda shown: bool(shown.late or shown.unoffered),
    "orders": lambda shown: bool(shown.orders),
    "yeast": lambda shown: bool(shown.yeasts),
    "quarantine": lambda shown: bool(shown.quarantine),
    "jobs": lambda shown: bool(shown.failed_jobs),
}
"""The parts of the page, and when there is something in each."""

FIRST: dict[Role, tuple[str, ...]] = {
    Role.PLANNER: ("proposals", "purchases", "orders"),
    Role.DEVELOPER: ("proposals", "yeast"),
    Role.PACKER: ("runs", "orders", "quarantine"),
}
"""What a role reads first; the rest follows in the usual order."""


@page(Right.READ)
def today(request: SignedInRequest) -> HttpResponse:
    """Show the start of the day."""
    shown = day(timezone.localdate())
    first = FIRST.get(Role(request.user.role), ())
    names = [*first, *(name for name in SECTIONS if name not in first)]
    context = {
        "day": shown,
        "sections": [f"planning/_today_{name}.html" for name in names if SECTIONS[name](shown)],
        "bare": not any_item(),
        "quiet": not any(SECTIONS[name](shown) for name in names if name != "runs"),
    }
    return render(request, "planning/today.html", context)
