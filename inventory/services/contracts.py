"""Contracts: a quantity of an item agreed with a supplier, to be called off between two days."""

from __future__ import annotations

from datetime import date

from boxwort.accounts.models import User
from boxwort.accounts.services import service
from boxwort.errors import Refusal
from inventory.models import Contract, ItemKind, SupplierItem
from inventory.services.crops import POSSIBLE_YEARS
from inventory.services.entries import check_code, check_not_negative, check_quantity, check_within
from inventory.services.rows import write_row


@service
def write_contract(
    *,
    by: User,
    code: str,
    offer: SupplierItem,
    quantity: int,
    from_on: date,
    until_on: date,
    crop_year: int | None = None,
    pack_price: int | None = None,
    expected: int | None = None,
) -> Contract:
    """Make or change a contract. Its offer stays the one it was made for.

    ``quantity`` is whole units of stock; ``pack_price`` ten-thousandths is paid for each pack, the
    offer's price without it. ``crop_year`` is of hops alone.

    Raises
    ------
    Refusal: ``code-not-valid``, ``quantity-not-positive``, ``contract-days-impossible``,
        ``contract-of-another-offer``, ``not-a-hop``, or ``changed-by-someone-else``.
    """
    check_code(code, "a contract")
    check_quantity(quantity, "agree on")
    if until_on < from_on:
        raise Refusal(
            "contract-days-impossible",
            f"Contract {code} would end before it begins.",
            "Give the same day or a later one.",
        )
    if pack_price is not None:
        check_not_negative(pack_price, "paid for a pack")
    if crop_year is not None:
        _check_crop(offer, crop_year)
    contract = Contract.objects.filter(code=code).first() or Contract(code=code, offer=offer)
    if contract.offer_id != offer.pk:
        raise Refusal(
            "contract-of-another-offer",
            f"Contract {code} was made for another offer.",
            "Give the new contract a code of its own.",
        )
    values = {
        "quantity": quantity,
        "crop_year": crop_year,
        "pack_price": pack_price,
        "from_on": from_on,
        "until_on": until_on,
    }
    write_row(by=by, row=contract, values=values, expected=expected)
    return contract


def _check_crop(offer: SupplierItem, crop_year: int) -> None:
    if offer.item.kind != ItemKind.HOP:
        raise Refusal(
            "not-a-hop", f"{offer.item} is not a hop.", "Leave the crop year of the contract empty."
        )
    check_within(crop_year, POSSIBLE_YEARS, "year of the crop")
