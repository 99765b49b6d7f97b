"""The pages of suppliers: the list, one with what it sells, and writing both and contracts."""

from __future__ import annotations

from typing import Any

from django.http import Http404, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse

from boxwort.accounts.queries import history_of
from boxwort.roles import Right
from boxwort.web.doors import SignedInRequest, page
from boxwort.web.kept import Words, kept
from boxwort.web.paging import page_of
from inventory.models import Contract, Supplier, SupplierItem
from inventory.queries.suppliers import sold_rows, supplier_row, supplier_rows
from inventory.services.catalogue import write_offer, write_supplier
from inventory.services.contracts import write_contract
from inventory.services.suppliers import begin_contract, begin_offer, begin_supplier
from inventory.web.supplier_forms import ContractForm, OfferForm, SupplierForm

_OFFERS = SupplierItem.objects.select_related("supplier", "item")


@page(Right.READ)
def supplier_list(request: SignedInRequest) -> HttpResponse:
    """List the suppliers."""
    return render(
        request, "inventory/supplier_list.html", {"page": page_of(request, supplier_rows())}
    )


@page(Right.READ)
def supplier_detail(request: SignedInRequest, supplier_id: int) -> HttpResponse:
    """Show a supplier: days, lead time, and everything it sells."""
    supplier = supplier_row(supplier_id)
    if supplier is None:
        raise Http404
    context = {
        "supplier": supplier,
        "offers": sold_rows(supplier_id=supplier_id),
        "history": history_of(Supplier._meta.label_lower, supplier_id),
    }
    return render(request, "inventory/supplier_detail.html", context)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def supplier_new(request: SignedInRequest) -> HttpResponse:
    """Write a new supplier."""

    def write(form: SupplierForm) -> dict[str, Any]:
        return {"supplier": begin_supplier(by=request.user, **form.facts()).pk}

    words = Words(
        title="A new supplier",
        thing="Suppliers",
        back=reverse("supplier-list"),
        what="What they sell is written on their page once they stand.",
        button="Keep the supplier",
        said="The supplier is kept.",
    )
    return kept(request, lambda *sent: SupplierForm(None, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def supplier_change(request: SignedInRequest, supplier_id: int) -> HttpResponse:
    """Change a supplier, or take it out of use."""
    supplier = get_object_or_404(Supplier, pk=supplier_id)

    def write(form: SupplierForm) -> dict[str, Any]:
        expected = form.cleaned_data["version"]
        said = form.facts()
        changed = write_supplier(by=request.user, code=supplier.code, expected=expected, **said)
        return {"supplier": changed.pk}

    words = Words(
        title="Change the supplier",
        thing=supplier.name,
        back=reverse("supplier-detail", args=[supplier.pk]),
        what="Orders that were sent stay as they are; the plan reckons with this from now on.",
        button="Keep the change",
        said="The supplier is changed.",
    )
    return kept(request, lambda *sent: SupplierForm(supplier, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def offer_new(request: SignedInRequest, supplier_id: int) -> HttpResponse:
    """Write something that a supplier sells."""
    supplier = get_object_or_404(Supplier, pk=supplier_id)

    def write(form: OfferForm) -> dict[str, Any]:
        typed = form.cleaned_data
        sold = {"item": typed["item"], "pack_quantity": typed["pack"]}
        offer = begin_offer(by=request.user, supplier=supplier, **sold, **form.facts())
        return {"offer": offer.pk}

    words = _of(supplier, "Something they sell", "Keep the offer", "The offer is kept.")
    return kept(request, lambda *sent: OfferForm(None, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def offer_change(request: SignedInRequest, offer_id: int) -> HttpResponse:
    """Change prices, minimum, lead time or preference of an offer."""
    offer = get_object_or_404(_OFFERS, pk=offer_id)

    def write(form: OfferForm) -> dict[str, Any]:
        changed = write_offer(
            by=request.user,
            supplier=offer.supplier,
            item=offer.item,
            pack_quantity=offer.pack_quantity,
            expected=form.cleaned_data["version"],
            **form.facts(),
        )
        return {"offer": changed.pk}

    words = _of(offer.supplier, f"Change: {offer.item.name}", "Keep the change", "It is changed.")
    return kept(request, lambda *sent: OfferForm(offer, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def contract_new(request: SignedInRequest, offer_id: int) -> HttpResponse:
    """Write a contract of an offer."""
    offer = get_object_or_404(_OFFERS, pk=offer_id)

    def write(form: ContractForm) -> dict[str, Any]:
        contract = begin_contract(by=request.user, offer=offer, **form.facts())
        return {"contract": contract.pk}

    title = f"A contract: {offer.item.name}"
    words = _of(offer.supplier, title, "Keep the contract", "The contract is kept.")
    return kept(request, lambda *sent: ContractForm(offer, None, request.user, *sent), write, words)


@page(Right.KEEP_CATALOGUE, methods=("GET", "POST"))
def contract_change(request: SignedInRequest, contract_id: int) -> HttpResponse:
    """Change what was agreed in a contract."""
    found = Contract.objects.select_related("offer__supplier", "offer__item")
    contract = get_object_or_404(found, pk=contract_id)
    offer = contract.offer

    def write(form: ContractForm) -> dict[str, Any]:
        expected, said = form.cleaned_data["version"], form.facts()
        changed = write_contract(
            by=request.user, code=contract.code, offer=offer, expected=expected, **said
        )
        return {"contract": changed.pk}

    title = f"Change contract {contract.code}"
    words = _of(offer.supplier, title, "Keep the change", "The contract is changed.")
    return kept(
        request, lambda *sent: ContractForm(offer, contract, request.user, *sent), write, words
    )


def _of(supplier: Supplier, title: str, button: str, said: str) -> Words:
    return Words(
        title=title,
        thing=supplier.name,
        back=reverse("supplier-detail", args=[supplier.pk]),
        what="The plan buys by this from now on; orders that were sent stay as they are.",
        button=button,
        said=said,
    )
