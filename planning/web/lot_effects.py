"""What a hop lot does to the kits of its hop, for the lot's own page, which knows no kits."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from inventory.models import Lot
from planning.queries.lot_effects import lot_effects as effects_of


@page(Right.READ)
def lot_effects(request: SignedInRequest, lot_id: int) -> HttpResponse:
    """Show the weights of every offered kit with this lot: a fragment, or a page of its own."""
    lot = get_object_or_404(Lot.objects.select_related("item__hop"), pk=lot_id)
    template = "planning/_lot_effects.html" if request.htmx else "planning/lot_effects.html"
    return render(request, template, {"lot": lot, "found": effects_of(lot)})
