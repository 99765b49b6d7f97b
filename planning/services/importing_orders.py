"""The sheets of what customers ordered, and of the zones it goes to."""

from __future__ import annotations

from boxwort.days_of_year import day_of_year_read
from boxwort.sheets import cells
from boxwort.sheets.checking import check_named
from boxwort.sheets.forms import AmountColumns, Row, SheetForm, column, optional
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Outcome, Saving
from boxwort.weekdays import EVERY_DAY
from inventory.models import Item
from inventory.services.importing import Catalogue
from inventory.services.importing_catalogue import check_measure, measures
from planning.models import CustomerOrder, DispatchZone
from planning.services.customer_orders import change_customer_order, take_customer_order
from planning.services.order_checks import CUSTOMER_LENGTH, NOTE_LENGTH, LineAsked
from planning.services.zones import LONGEST_TRANSIT, MOST_ICE_PACKS, TEMPERATURES, write_zone
from recipes.models import Kit

CRUSHED, WHOLE = "crushed", "whole"


def _day_of_year(cell: cells.Cell) -> int:
    """Read a day of any year, such as 15 May."""
    try:
        return day_of_year_read(str(cell.value))
    except ValueError:
        what = "This is no day of a year."
        raise cells.Unreadable(what, "Write day and month as text, such as 15 May.") from None


_DEGREES = cells.measured(least=TEMPERATURES[0], most=TEMPERATURES[1])
ZONES = SheetForm(
    name="Zones",
    unique=("code",),
    columns=(
        column("code", "Code", cells.code),
        column("name", "Name", cells.text(80)),
        column("transit_days", "Days on the way", cells.whole(most=LONGEST_TRANSIT)),
        optional("ship_weekdays", "Leaves on", cells.weekdays, EVERY_DAY),
        optional("temperature_c", "On the way (°C)", _DEGREES, 15.0),
        optional("warm_temperature_c", "Warm season (°C)", _DEGREES, 25.0),
        optional("warm_from", "Warm from", _day_of_year),
        optional("warm_until", "Warm until", _day_of_year),
        optional("ice_item", "Ice pack", cells.code),
        optional("ice_packs", "Ice packs", cells.whole(most=MOST_ICE_PACKS), 0),
    ),
)
CUSTOMER_ORDERS = SheetForm(
    name="Customer orders",
    columns=(
        column("order", "Order", cells.code),
        column("customer", "Customer", cells.text(CUSTOMER_LENGTH)),
        optional("zone", "Zone", cells.code),
        column("promised_on", "Promised", cells.day),
        column("item", "Item", cells.code),
        AmountColumns(name="amount"),
        optional("yeast", "Yeast", cells.code),
        optional("grain", "Grain", cells.choice({CRUSHED: "Crushed", WHOLE: "Whole"}), CRUSHED),
        optional("price", "Price", cells.money),
        optional("note", "Note", cells.text(NOTE_LENGTH), ""),
    ),
)
_HEAD = ("customer", "zone", "promised_on", "note")


def check_orders(reading: Reading, books: Catalogue) -> None:
    """Check what zones and customer orders name, and that the rows of an order agree."""
    for sheet, name in ((ZONES.name, "ice_item"), (CUSTOMER_ORDERS.name, "item")):
        check_named(reading, sheet, name, in_sheet="Items", code="code", in_books=books.items)
    check_named(
        reading, CUSTOMER_ORDERS.name, "yeast", in_sheet="Items", code="code", in_books=books.items
    )
    zones = set(DispatchZone.objects.values_list("code", flat=True))
    check_named(
        reading, CUSTOMER_ORDERS.name, "zone", in_sheet="Zones", code="code", in_books=zones
    )
    check_measure(reading, CUSTOMER_ORDERS.name, "item", "amount", measures(reading, books))
    for rows in _orders(reading).values():
        for row in rows[1:]:
            _check_agrees(reading, row, rows[0])


def _check_agrees(reading: Reading, row: Row, first: Row) -> None:
    for name in _HEAD:
        if row[name] != first[name]:
            row.sound = False
            what = f"Row {first.number} of the same order says {first[name] or 'nothing'}."
            reading.add(row, name, what, "Make the rows of an order agree.")


def save_orders(saving: Saving, books: Catalogue) -> None:
    """Write zones, then customer orders."""
    standing = set(DispatchZone.objects.values_list("code", flat=True))
    for row in saving.reading.sound(ZONES.name):
        with saving.writing(row, new=row["code"] not in standing):
            facts = {each.name: row[each.name] for each in ZONES.single_columns()}
            ice = books.items[row["ice_item"]] if row["ice_item"] else None
            write_zone(by=saving.by, **{**facts, "ice_item": ice})
    orders = CustomerOrder.objects.select_related("zone").prefetch_related(
        "lines__kit__item", "lines__item", "lines__yeast"
    )
    taken = {order.code: order for order in orders}
    kits = {kit.item.code: kit for kit in Kit.objects.select_related("item")}
    zones = {zone.code: zone for zone in DispatchZone.objects.all()}
    for code, rows in _orders(saving.reading).items():
        zone = rows[0]["zone"]
        named = {row["item"] for row in rows} | {row["yeast"] for row in rows if row["yeast"]}
        if named <= set(books.items) and (zone is None or zone in zones):
            lines = [_line(row, kits, books.items) for row in rows]
            _save_order(saving, rows, lines, zones.get(zone), taken.get(code))


def _orders(reading: Reading) -> dict[str, list[Row]]:
    orders: dict[str, list[Row]] = {}
    for row in reading.sound(CUSTOMER_ORDERS.name):
        orders.setdefault(row["order"], []).append(row)
    return orders


def _line(row: Row, kits: dict[str, Kit], items: dict[str, Item]) -> LineAsked:
    kit = kits.get(row["item"])
    return LineAsked(
        kit=kit,
        item=None if kit else items[row["item"]],
        yeast=items[row["yeast"]] if row["yeast"] else None,
        crushed=row["grain"] == CRUSHED,
        quantity=row["amount"].quantity,
        price=row["price"],
    )


def _save_order(
    saving: Saving,
    rows: list[Row],
    lines: list[LineAsked],
    zone: DispatchZone | None,
    standing: CustomerOrder | None,
) -> None:
    first = rows[0]
    if standing is not None and _said(rows, lines) == _standing(standing, rows):
        saving.note(rows, Outcome.UNCHANGED)
        return
    facts = {
        "customer": first["customer"],
        "promised_on": first["promised_on"],
        "zone": zone,
        "note": first["note"],
        "lines": lines,
    }
    with saving.writing(*rows, new=standing is None):
        if standing is None:
            take_customer_order(by=saving.by, code=first["order"], **facts)
        else:
            change_customer_order(by=saving.by, order=standing, expected=standing.version, **facts)


def _said(rows: list[Row], lines: list[LineAsked]) -> tuple[object, ...]:
    head = tuple(rows[0][name] for name in _HEAD)
    return head, [
        (line.code, line.yeast and line.yeast.code, line.crushed, line.quantity, line.price)
        for line in lines
    ]


def _standing(order: CustomerOrder, rows: list[Row]) -> tuple[object, ...]:
    """Return an order as its rows would say it; a price that they leave open is not compared."""
    head = (order.customer, order.zone and order.zone.code, order.promised_on, order.note)
    lines = list(order.lines.all())
    prices = [row["price"] for row in rows] + [None] * max(len(lines) - len(rows), 0)
    said = []
    for line, price in zip(lines, prices, strict=False):
        thing = line.kit.item if line.kit else line.item
        code, yeast = thing and thing.code, line.yeast and line.yeast.code
        told = None if price is None else line.price
        said.append((code, yeast, line.crushed, line.quantity, told))
    return head, said
