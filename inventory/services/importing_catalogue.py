"""The sheets of the catalogue: items with their specifications, suppliers, offers and places."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date

from boxwort.quantities import UNITS, Measure
from boxwort.sheets.checking import check_among, check_named
from boxwort.sheets.forms import Row
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Saving
from inventory.models import Item, ItemKind, Place, PlaceKind, Supplier, SupplierItem
from inventory.models.items import FERMENTABLE_KINDS
from inventory.services.catalogue import (
    HopFacts,
    MaltFacts,
    YeastFacts,
    write_item,
    write_offer,
    write_place,
    write_supplier,
)
from inventory.services.importing_forms import (
    HOPS,
    ITEMS,
    MALTS,
    OFFERS,
    PLACES,
    PRICE_BREAKS,
    SUPPLIERS,
    YEASTS,
)
from inventory.services.order_rules import OrderRules

ALWAYS_ON = date(2000, 1, 1)  # a place without a date has been as warm as it is all along
SPECIFIED_IN: dict[str, str] = {
    **dict.fromkeys(FERMENTABLE_KINDS, MALTS.name),
    ItemKind.HOP: HOPS.name,
    ItemKind.YEAST: YEASTS.name,
}


@dataclass(frozen=True, kw_only=True)
class Catalogue:
    """What rows may name, by code: the books, and what this workbook adds to them."""

    items: dict[str, Item] = field(default_factory=dict)
    suppliers: dict[str, Supplier] = field(default_factory=dict)
    places: dict[str, Place] = field(default_factory=dict)


def standing_catalogue() -> Catalogue:
    """Return the catalogue as it is in the books."""
    return Catalogue(
        items={item.code: item for item in Item.objects.all()},
        suppliers={supplier.code: supplier for supplier in Supplier.objects.all()},
        places={place.code: place for place in Place.objects.filter(kind=PlaceKind.STORAGE)},
    )


def measures(reading: Reading, books: Catalogue) -> dict[str, str]:
    """Return how each item is measured, as the workbook says or else the books."""
    standing = {code: item.measure for code, item in books.items.items()}
    return standing | {row["code"]: row["measure"] for row in reading.rows["Items"]}


def check_measure(
    reading: Reading, sheet: str, item: str, amount: str, measured: Mapping[str, str]
) -> None:
    """Note each row whose amount is in a unit that its item is not kept in."""
    for row in reading.sound(sheet):
        owed = measured.get(row[item])
        if row[amount] is not None and owed and row[amount].measure != owed:
            row.sound = False
            what = f"{row[amount].unit.symbol} is no unit of {owed}, and {row[item]} is kept by it."
            fitting = ", ".join(unit.symbol for unit in UNITS.values() if unit.measure == owed)
            reading.add(row, f"{amount} unit", what, f"Use one of: {fitting}.")


def check_catalogue(reading: Reading, books: Catalogue) -> None:
    """Check that items have the specification of their kind, and offers name what is known."""
    _check_specifications(reading)
    for sheet in (OFFERS.name, PRICE_BREAKS.name):
        for name, in_sheet, known in (
            ("supplier", SUPPLIERS.name, books.suppliers),
            ("item", ITEMS.name, books.items),
        ):
            check_named(reading, sheet, name, in_sheet=in_sheet, code="code", in_books=known)
        check_measure(reading, sheet, "item", "pack", measures(reading, books))
    for amount in ("safety_stock", "container", "fixed"):
        check_measure(reading, ITEMS.name, "code", amount, measures(reading, books))
    _check_breaks_have_an_offer(reading)


def save_catalogue(saving: Saving, books: Catalogue) -> None:
    """Write the sheets of the catalogue; ``books`` grows by what they hold."""
    _save_items(saving, books)
    for row in saving.reading.sound(SUPPLIERS.name):
        with saving.writing(row, new=row["code"] not in books.suppliers):
            books.suppliers[row["code"]] = write_supplier(by=saving.by, **row.values)
    for row in saving.reading.sound(PLACES.name):
        with saving.writing(row, new=row["code"] not in books.places):
            said = row.values | {"from_on": row["from_on"] or ALWAYS_ON}
            books.places[row["code"]] = write_place(by=saving.by, **said)
    _save_offers(saving, books)


def _check_specifications(reading: Reading) -> None:
    for sheet in (MALTS.name, HOPS.name, YEASTS.name):
        fitting = {
            row["code"]
            for row in reading.rows[ITEMS.name]
            if row["kind"] is None or SPECIFIED_IN.get(row["kind"]) == sheet
        }
        what = "The sheet “Items” has no such item of this kind."
        check_among(reading, sheet, "item", fitting, what, "Correct the code, or the item's kind.")
    for row in reading.sound(ITEMS.name):
        sheet = SPECIFIED_IN.get(row["kind"], "")
        if sheet and row["code"] not in reading.named(sheet, "item"):
            row.sound = False
            what = f"{row['code']} has no specification."
            reading.add(row, "code", what, f"Add a row for it in the sheet “{sheet}”.")
        if row["family"] and sheet != MALTS.name:
            row.sound = False
            what = "Only grain, extract and sugar are of a family."
            reading.add(row, "family", what, "Empty it, or correct the kind.")


def _check_breaks_have_an_offer(reading: Reading) -> None:
    offered = {_offer_key(row) for row in reading.rows[OFFERS.name]}
    for row in reading.sound(PRICE_BREAKS.name):
        if _offer_key(row) not in offered:
            row.sound = False
            what = "The sheet “Offers” has no offer of this supplier, item and pack."
            reading.add(row, "item", what, "Correct the row, or add the offer.")


def _offer_key(row: Row) -> tuple[str, str, int | None]:
    return row["supplier"], row["item"], row["pack"] and row["pack"].quantity


def _save_items(saving: Saving, books: Catalogue) -> None:
    specs = {
        sheet: {row["item"]: row for row in saving.reading.rows[sheet]}
        for sheet in set(SPECIFIED_IN.values())
    }
    for row in saving.reading.sound(ITEMS.name):
        sheet = SPECIFIED_IN.get(row["kind"])
        spec = specs[sheet][row["code"]] if sheet else None
        if spec is not None and not spec.sound:
            continue
        parts = [] if spec is None else [spec]
        with saving.writing(row, *parts, new=row["code"] not in books.items):
            books.items[row["code"]] = write_item(
                by=saving.by,
                code=row["code"],
                name=row["name"],
                kind=ItemKind(row["kind"]),
                measure=Measure(row["measure"]),
                overage=row["overage"],
                safety_stock=row["safety_stock"].quantity if row["safety_stock"] else 0,
                shelf_days=row["shelf_days"],
                crushed_days=row["crushed_days"],
                opened_days=row["opened_days"],
                work_loss=row["work_loss"],
                container_quantity=row["container"].quantity if row["container"] else None,
                rules=OrderRules(
                    lot_rule=row["lot_rule"],
                    fixed_quantity=row["fixed"].quantity if row["fixed"] else None,
                    period_days=row["period_days"],
                    order_cost=row["order_cost"],
                    quarantine_days=row["quarantine_days"],
                ),
                allergens=row["allergens"],
                notes=row["notes"],
                malt=_malt(spec, row["family"]) if spec and sheet == MALTS.name else None,
                hop=_hop(spec) if spec and sheet == HOPS.name else None,
                yeast=_yeast(spec) if spec and sheet == YEASTS.name else None,
            )


def _malt(row: Row, family: str) -> MaltFacts:
    return MaltFacts(
        points_l_per_kg=row["points"],
        steep_points_l_per_kg=row["steep_points"],
        colour_lovibond=row["colour"],
        power_lintner=row["power"],
        fermentability=row["fermentability"],
        must_mash=row["must_mash"],
        family=family,
    )


def _hop(row: Row) -> HopFacts:
    return HopFacts(
        planning_alpha=row["planning_alpha"],
        lost_in_six_months=row["lost_in_six_months"],
        form=row["form"] or HopFacts.form,
        packing=row["packing"] or HopFacts.packing,
    )


def _yeast(row: Row) -> YeastFacts:
    return YeastFacts(
        form=row["form"],
        attenuation=row["attenuation"],
        cells_per_pack=row["cells"],
        pack_grams=row["grams"],
        pitch_million=row["pitch"],
        dose_g_per_hl=row["dose"],
        viability_rule=row["rule"],
        target_share=row["target"],
        floor_share=row["floor"],
        strain_group=row["group"],
    )


def _save_offers(saving: Saving, books: Catalogue) -> None:
    breaks: dict[object, list[Row]] = {}
    for row in saving.reading.sound(PRICE_BREAKS.name):
        breaks.setdefault(_offer_key(row), []).append(row)
    standing = set(SupplierItem.objects.values_list("supplier", "item", "pack_quantity"))
    for row in saving.reading.sound(OFFERS.name):
        supplier, item = books.suppliers.get(row["supplier"]), books.items.get(row["item"])
        if supplier is None or item is None:
            continue
        cheaper = breaks.get(_offer_key(row), [])
        pack = row["pack"].quantity
        with saving.writing(row, *cheaper, new=(supplier.pk, item.pk, pack) not in standing):
            write_offer(
                by=saving.by,
                supplier=supplier,
                item=item,
                pack_quantity=pack,
                minimum_packs=row["minimum_packs"],
                lead_days=row["lead_days"],
                supplier_code=row["supplier_code"],
                preferred=row["preferred"],
                breaks=[(1, row["price"]), *((b["from_packs"], b["price"]) for b in cheaper)],
            )
