"""New suppliers, offers and contracts: each refused where there is one already, never changed."""

from __future__ import annotations

from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Contract, Item, Supplier, SupplierItem
from inventory.services.catalogue import write_offer, write_supplier
from inventory.services.contracts import write_contract


@service
def begin_supplier(*, by: User, code: str, **facts: Any) -> Supplier:
    """Write a supplier that there is not yet; ``facts`` are those of :func:`write_supplier`.

    Raises
    ------
    Refusal: ``supplier-code-taken``, or what :func:`write_supplier` refuses.
    """
    if Supplier.objects.filter(code=code).exists():
        raise Refusal(
            "supplier-code-taken",
            f"There is a supplier with the code {code} already.",
            "Give the new one a code of its own.",
        )
    return write_supplier(by=by, code=code, **facts)


@service
def begin_offer(
    *, by: User, supplier: Supplier, item: Item, pack_quantity: int, **facts: Any
) -> SupplierItem:
    """Write an offer that there is not yet; ``facts`` are those of :func:`write_offer`.

    Raises
    ------
    Refusal: ``offer-known``, or what :func:`write_offer` refuses.
    """
    known = SupplierItem.objects.filter(supplier=supplier, item=item, pack_quantity=pack_quantity)
    if known.exists():
        raise Refusal(
            "offer-known",
            f"{supplier} sells {item} in this pack already.",
            "Change the offer that stands, or give another pack.",
        )
    return write_offer(by=by, supplier=supplier, item=item, pack_quantity=pack_quantity, **facts)


@service
def begin_contract(*, by: User, code: str, offer: SupplierItem, **facts: Any) -> Contract:
    """Write a contract that there is not yet; ``facts`` are those of :func:`write_contract`.

    Raises
    ------
    Refusal: ``contract-code-taken``, or what :func:`write_contract` refuses.
    """
    if Contract.objects.filter(code=code).exists():
        raise Refusal(
            "contract-code-taken",
            f"There is a contract with the code {code} already.",
            "Give the new one a code of its own.",
        )
    return write_contract(by=by, code=code, offer=offer, **facts)
