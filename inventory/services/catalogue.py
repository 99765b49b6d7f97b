"""Keeping the catalogue: items with their specifications, places, suppliers and what they sell.

Each service makes the row if its code is new and changes it if not; where nothing differs, nothing
is written, so that the same workbook read twice leaves no trace the second time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import Any

from boxwort.accounts.models import User
from boxwort.accounts.services import change_version, service, write_history
from boxwort.errors import Refusal
from boxwort.quantities import Measure
from boxwort.weekdays import EVERY_DAY
from inventory.models import (
    Item,
    ItemKind,
    Lot,
    Place,
    PlaceKind,
    PlaceTemperature,
    PriceBreak,
    Supplier,
    SupplierItem,
)
from inventory.models.items import ALLERGENS, FERMENTABLE_KINDS
from inventory.services.entries import (
    check_choice,
    check_code,
    check_not_negative,
    check_quantity,
    check_within,
)
from inventory.services.order_rules import OrderRules
from inventory.services.rows import check_row, write_row
from inventory.services.specifications import (
    HopFacts,
    MaltFacts,
    YeastFacts,
    specifications,
    write_specification,
)

__all__ = [
    "HopFacts",
    "MaltFacts",
    "YeastFacts",
    "write_item",
    "write_offer",
    "write_place",
    "write_supplier",
]

MEASURE_OF: dict[ItemKind, Measure] = {
    **dict.fromkeys(FERMENTABLE_KINDS, Measure.MASS),
    ItemKind.HOP: Measure.MASS,
    ItemKind.YEAST: Measure.COUNT,
    ItemKind.KIT: Measure.COUNT,
}
"""Kinds whose arithmetic settles how they are counted: yeast and kits by the pack."""
GREATEST_OVERAGE = (0.0, 0.5)
GREATEST_WORK_LOSS = (0.0, 0.5)
POSSIBLE_C = (-40.0, 45.0)


@service
def write_item(
    *,
    by: User,
    code: str,
    name: str,
    kind: ItemKind,
    measure: Measure,
    overage: float = 0.0,
    safety_stock: int = 0,
    shelf_days: int | None = None,
    crushed_days: int | None = None,
    opened_days: int | None = None,
    work_loss: float = 0.0,
    container_quantity: int | None = None,
    rules: OrderRules | None = None,
    allergens: Sequence[str] = (),
    notes: str = "",
    malt: MaltFacts | None = None,
    hop: HopFacts | None = None,
    yeast: YeastFacts | None = None,
    expected: int | None = None,
) -> Item:
    """Make or change an item and its specification.

    ``expected`` is the version the person started from; without it the row as it is now is
    changed. Without ``rules`` it is ordered as before. Kind and measure are fixed once there are
    lots of the item. See :class:`Item` for what the figures mean.
    """
    check_code(code, "an item")
    check_choice(kind, ItemKind, "kind of item")
    check_choice(measure, Measure, "measure")
    check_not_negative(safety_stock, "of safety stock")
    check_within(overage, GREATEST_OVERAGE, f"overage of {code}")
    check_within(work_loss, GREATEST_WORK_LOSS, f"usual loss of work on {code}")
    for life, what in ((crushed_days, "once crushed"), (opened_days, "once opened")):
        _check_life(life, f"{code} {what}")
    if container_quantity is not None:
        check_quantity(container_quantity, "put in a container")
    for allergen in allergens:
        check_choice(allergen, ALLERGENS, "allergen")
    _check_measure(code, kind, measure)
    specs = specifications(code, kind, malt=malt, hop=hop, yeast=yeast)
    values: dict[str, Any] = {
        "name": name,
        "kind": kind,
        "measure": measure,
        "overage": overage,
        "safety_stock": safety_stock,
        "shelf_days": shelf_days,
        "crushed_days": crushed_days,
        "opened_days": opened_days,
        "work_loss": work_loss,
        "container_quantity": container_quantity,
        "allergens": sorted(allergens),
        "notes": notes,
    }
    if rules is not None:
        rules.refuse_impossible()
        values |= rules.as_said()
    item = Item.objects.filter(code=code).first() or Item(code=code)
    _check_kind_fixed(item, values)
    write_row(by=by, row=item, values=values, expected=expected)
    for model, facts in specs.items():
        write_specification(by, item, model, facts)
    return item


@service
def write_supplier(
    *,
    by: User,
    code: str,
    name: str,
    email: str = "",
    lead_days: int = 7,
    order_weekdays: str = EVERY_DAY,
    counts_working_days: bool = False,
    active: bool | None = None,
    expected: int | None = None,
) -> Supplier:
    """Make or change a supplier.

    Orders are taken on ``order_weekdays`` (see :mod:`boxwort.weekdays`). ``lead_days`` are calendar
    days, or working days of the house where the supplier ``counts_working_days``. Without
    ``active`` a supplier stays in use or not, as it was.
    """
    check_code(code, "a supplier")
    if not order_weekdays:
        raise Refusal(
            "order-days-missing",
            f"{name} would never take an order.",
            "Give at least one weekday.",
        )
    supplier = Supplier.objects.filter(code=code).first() or Supplier(code=code)
    values: dict[str, Any] = {
        "name": name,
        "email": email,
        "lead_days": lead_days,
        "order_weekdays": order_weekdays,
        "counts_working_days": counts_working_days,
    }
    if active is not None:
        values["active"] = active
    write_row(by=by, row=supplier, values=values, expected=expected)
    return supplier


@service
def write_offer(
    *,
    by: User,
    supplier: Supplier,
    item: Item,
    pack_quantity: int,
    minimum_packs: int = 1,
    lead_days: int | None = None,
    supplier_code: str = "",
    preferred: bool = False,
    breaks: Sequence[tuple[int, int]] = (),
    expected: int | None = None,
) -> SupplierItem:
    """Make or change how a supplier sells an item in one pack size.

    ``breaks`` are (from so many packs, price of a pack in ten-thousandths). Where this offer is
    preferred, another one of the item no longer is.
    """
    check_quantity(pack_quantity, "put in a pack")
    check_quantity(minimum_packs, "order at least")
    _check_breaks(breaks)
    offer = SupplierItem.objects.filter(
        supplier=supplier, item=item, pack_quantity=pack_quantity
    ).first() or SupplierItem(supplier=supplier, item=item, pack_quantity=pack_quantity)
    if preferred:
        _prefer_no_other(by, offer)
    values = {
        "minimum_packs": minimum_packs,
        "lead_days": lead_days,
        "supplier_code": supplier_code,
        "preferred": preferred,
    }
    write_row(by=by, row=offer, values=values, expected=expected)
    _write_breaks(by, offer, sorted(breaks))
    return offer


@service
def write_place(
    *, by: User, code: str, name: str, temperature_c: float | None, from_on: date
) -> Place:
    """Make or rename a storage place, and note how warm it is from a day on (None: not known)."""
    check_code(code, "a place")
    place = Place.objects.filter(code=code).first() or Place(code=code)
    if place.kind != PlaceKind.STORAGE:
        raise Refusal(
            "place-is-fixed",
            f"{place.name} is a fixed place of the ledger.",
            "Give the storage place another code.",
            details={"place": code},
        )
    write_row(by=by, row=place, values={"name": name})
    if temperature_c is not None:
        _note_temperature(by, place, temperature_c, from_on)
    return place


def _check_measure(code: str, kind: ItemKind, measure: Measure) -> None:
    owed = MEASURE_OF.get(kind, measure)
    if measure != owed:
        raise Refusal(
            "measure-does-not-fit",
            f"Item {code} is {kind.label.lower()} and was to be kept by {measure.value}.",
            f"Keep {kind.label.lower()} by {owed.value}.",
            details={"item": code, "measure": owed.value},
        )


def _check_life(days: int | None, what: str) -> None:
    if days is not None and days < 1:
        raise Refusal(
            "life-not-possible",
            f"{what} was said to keep {days} days.",
            "Give at least 1 day, or nothing where it keeps as long as before.",
        )


def _check_kind_fixed(item: Item, values: Mapping[str, Any]) -> None:
    if item._state.adding:
        return
    fixed = [name for name in ("kind", "measure") if getattr(item, name) != values[name]]
    if fixed and Lot.objects.filter(item=item).exists():
        raise Refusal(
            "item-fixed",
            f"There are lots of {item}, so its {fixed[0]} stays {getattr(item, fixed[0])}.",
            "Make a new item for the other kind or measure.",
            details={"item": item.code},
        )


def _note_temperature(by: User, place: Place, temperature_c: float, from_on: date) -> None:
    row = PlaceTemperature.objects.filter(place=place, from_on=from_on).first()
    if row and row.temperature_c == temperature_c:
        return
    before = {"temperature_c": row.temperature_c} if row else {}
    row = row or PlaceTemperature(place=place, from_on=from_on)
    row.temperature_c = temperature_c
    check_within(temperature_c, POSSIBLE_C, f"temperature of {place.name}")
    check_row(row)
    row.save()
    write_history(
        by=by,
        thing=place,
        action="temperature-noted",
        before=before,
        after={"temperature_c": temperature_c, "from_on": from_on},
    )


def _check_breaks(breaks: Sequence[tuple[int, int]]) -> None:
    starts = [start for start, _ in breaks]
    if len(set(starts)) < len(starts) or any(start < 1 for start in starts):
        raise Refusal(
            "price-breaks-not-clear",
            f"Prices were given from {', '.join(map(str, sorted(starts)))} packs.",
            "Give each price from its own number of packs, 1 or more.",
        )
    if any(price < 0 for _, price in breaks):
        raise Refusal("price-negative", "A price is below zero.", "Give zero or more.")


def _prefer_no_other(by: User, offer: SupplierItem) -> None:
    others = SupplierItem.objects.filter(item=offer.item, preferred=True).exclude(pk=offer.pk)
    for other in others:
        change_version(
            by=by,
            thing=other,
            expected=other.version,
            action="changed",
            changes={"preferred": False},
        )


def _write_breaks(by: User, offer: SupplierItem, breaks: list[tuple[int, int]]) -> None:
    standing = list(offer.breaks.order_by("from_packs").values_list("from_packs", "pack_price"))
    if standing == breaks:
        return
    offer.breaks.all().delete()
    PriceBreak.objects.bulk_create(
        PriceBreak(offer=offer, from_packs=start, pack_price=price) for start, price in breaks
    )
    write_history(
        by=by, thing=offer, action="priced", before={"breaks": standing}, after={"breaks": breaks}
    )
