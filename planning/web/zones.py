"""The pages of dispatch zones: the list, and writing one."""

from __future__ import annotations

from typing import Any

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.kept import Words, kept
from planning.models import DispatchZone
from planning.queries.zones import zone_rows
from planning.services.zones import begin_zone, write_zone
from planning.web.zone_forms import ZoneForm


@page(Right.READ)
def zone_list(request: SignedInRequest) -> HttpResponse:
    """Show where boxes go."""
    return render(request, "planning/zone_list.html", {"zones": zone_rows()})


@page(Right.TAKE_ORDER, methods=("GET", "POST"))
def zone_new(request: SignedInRequest) -> HttpResponse:
    """Add a zone."""
    words = Words(
        title="A new zone",
        thing="Zones",
        back=reverse("zone-list"),
        what="A place that boxes go to, or a region that is reached alike.",
        button="Add the zone",
        said="The zone is added.",
    )
    return _written(request, None, words)


@page(Right.TAKE_ORDER, methods=("GET", "POST"))
def zone_change(request: SignedInRequest, zone_id: int) -> HttpResponse:
    """Change a zone, or take it out of use."""
    zone = get_object_or_404(DispatchZone, pk=zone_id)
    words = Words(
        title="Change the zone",
        thing="Zones",
        back=reverse("zone-list"),
        what=f"{zone.name}, {zone.code}. Orders that are taken keep their days; boxes that leave "
        "from now on travel by what stands here.",
        button="Save the zone",
        said=f"The zone {zone.name} is changed.",
    )
    return _written(request, zone, words)


def _written(request: SignedInRequest, zone: DispatchZone | None, words: Words) -> HttpResponse:
    def make(data: Any = None) -> ZoneForm:
        return ZoneForm(zone, request.user.units, data)

    def write(form: ZoneForm) -> dict[str, Any]:
        facts = form.facts()
        if zone is None:
            return {"zone": begin_zone(by=request.user, **facts).pk}
        expected = form.cleaned_data["version"]
        changed = write_zone(by=request.user, code=zone.code, expected=expected, **facts)
        return {"zone": changed.pk}

    return kept(request, make, write, words)
