"""The sheets of contracts with suppliers, and of the crops of hops."""

from __future__ import annotations

from boxwort.errors import Refusal
from boxwort.sheets.checking import check_named
from boxwort.sheets.forms import Row
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Saving
from inventory.models import Contract, CropYear, Item, Supplier, SupplierItem
from inventory.services.contracts import write_contract
from inventory.services.crops import write_crop
from inventory.services.importing_catalogue import Catalogue, check_measure, measures
from inventory.services.importing_forms import CONTRACTS, CROPS, ITEMS, SUPPLIERS


def check_buying(reading: Reading, books: Catalogue) -> None:
    """Check that contracts and crops name what is known, in units of it."""
    for sheet in (CONTRACTS.name, CROPS.name):
        check_named(reading, sheet, "item", in_sheet=ITEMS.name, code="code", in_books=books.items)
    check_named(
        reading,
        CONTRACTS.name,
        "supplier",
        in_sheet=SUPPLIERS.name,
        code="code",
        in_books=books.suppliers,
    )
    for amount in ("pack", "amount"):
        check_measure(reading, CONTRACTS.name, "item", amount, measures(reading, books))


def save_buying(saving: Saving, books: Catalogue) -> None:
    """Write crops and contracts, once the offers stand."""
    _save_crops(saving, books)
    standing = set(Contract.objects.values_list("code", flat=True))
    for row in saving.reading.sound(CONTRACTS.name):
        supplier, item = books.suppliers.get(row["supplier"]), books.items.get(row["item"])
        if supplier is None or item is None:
            continue
        with saving.writing(row, new=row["code"] not in standing):
            write_contract(
                by=saving.by,
                code=row["code"],
                offer=_offer(supplier, item, row),
                quantity=row["amount"].quantity,
                crop_year=row["crop_year"],
                pack_price=row["price"],
                from_on=row["from_on"],
                until_on=row["until_on"],
            )


def _save_crops(saving: Saving, books: Catalogue) -> None:
    standing = set(CropYear.objects.values_list("item__code", "year"))
    for row in saving.reading.sound(CROPS.name):
        if (item := books.items.get(row["item"])) is None:
            continue
        with saving.writing(row, new=(row["item"], row["year"]) not in standing):
            write_crop(
                by=saving.by,
                item=item,
                year=row["year"],
                from_on=row["from_on"],
                planning_alpha=row["planning_alpha"],
            )


def _offer(supplier: Supplier, item: Item, row: Row) -> SupplierItem:
    pack = row["pack"].quantity
    found = SupplierItem.objects.filter(supplier=supplier, item=item, pack_quantity=pack)
    offer = found.select_related("item").first()
    if offer is None:
        raise Refusal(
            "offer-not-known",
            f"{supplier} does not sell {item} in this pack.",
            "Add the offer in the sheet “Offers”, or correct the pack.",
        )
    return offer
