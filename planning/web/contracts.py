"""Contracts with what was called off, for a supplier's own page, which knows nothing of orders."""

from __future__ import annotations

from django.http import HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone

from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from inventory.models import Supplier
from planning.queries.contracts import contract_rows


@page(Right.READ)
def supplier_contracts(request: SignedInRequest, supplier_id: int) -> HttpResponse:
    """Show the contracts with a supplier: a fragment, or a page of its own."""
    context = {
        "supplier": get_object_or_404(Supplier, pk=supplier_id),
        "contracts": contract_rows(supplier_id=supplier_id),
        "today": timezone.localdate(),
    }
    template = "_supplier_contracts" if request.htmx else "supplier_contracts"
    return render(request, f"planning/{template}.html", context)
