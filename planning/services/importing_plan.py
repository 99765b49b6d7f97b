"""The sheets of the plan: who the producer is, demand for kits, and what is on order."""

from __future__ import annotations

from datetime import date

from boxwort.accounts.queries import site_settings
from boxwort.accounts.services import change_version
from boxwort.sheets import cells
from boxwort.sheets.checking import check_named
from boxwort.sheets.forms import AmountColumns, Row, SheetForm, column, optional
from boxwort.sheets.reading import Reading
from boxwort.sheets.saving import Outcome, Saving
from inventory.services.importing import Catalogue
from inventory.services.importing_catalogue import check_measure, measures
from planning.models import Forecast, PurchaseOrder
from planning.queries.demand import monday_of
from planning.services.forecast import MOST_KITS, ForecastCell, set_forecast
from planning.services.orders import OrderedLine, write_order
from recipes.models import Kit

ABOUT = SheetForm(
    name="About",
    columns=(
        column("producer", "Producer", cells.text(80)),
        column("dates_as_of", "Dates as of", cells.day),
        optional("currency", "Currency", cells.text(3)),
        optional("working_weekdays", "Working days", cells.weekdays),
        optional("kits_per_day", "Kits per day", cells.whole(least=1, most=100_000)),
    ),
)
DEMAND = SheetForm(
    name="Demand",
    columns=(
        column("kit", "Kit", cells.code),
        column("week_on", "Week", cells.day),
        column("kits", "Kits", cells.whole(least=1, most=MOST_KITS)),
    ),
)
ON_ORDER = SheetForm(
    name="On order",
    unique=("order", "item", "due_on"),
    columns=(
        column("order", "Order", cells.code),
        column("supplier", "Supplier", cells.code),
        column("item", "Item", cells.code),
        AmountColumns(name="amount"),
        column("ordered_on", "Ordered", cells.day),
        column("due_on", "Due", cells.day),
    ),
)
FORMS = (ABOUT, DEMAND, ON_ORDER)


def dated_as_of(reading: Reading, today: date) -> date:
    """Return the day the workbook describes: what it says, or today where it says nothing."""
    days: list[date] = [row["dates_as_of"] for row in reading.sound(ABOUT.name)]
    return min([today, *days])


def check_plan(reading: Reading, books: Catalogue, today: date) -> None:
    """Check that the producer is named once, and what demand and orders name."""
    for row in reading.rows[ABOUT.name][1:]:
        row.sound = False
        reading.add(row, "producer", "The producer is named above.", "Keep one row.")
    for row in reading.sound(ABOUT.name):
        if row["dates_as_of"] > today:
            what = f"This is after today, {today}."
            reading.add(row, "dates_as_of", what, "Write the day the workbook was written for.")
    kits = set(Kit.objects.values_list("item__code", flat=True))
    check_named(reading, DEMAND.name, "kit", in_sheet="Kits", code="item", in_books=kits)
    _check_demand_once(reading)
    for name, sheet, known in (
        ("supplier", "Suppliers", books.suppliers),
        ("item", "Items", books.items),
    ):
        check_named(reading, ON_ORDER.name, name, in_sheet=sheet, code="code", in_books=known)
    check_measure(reading, ON_ORDER.name, "item", "amount", measures(reading, books))
    _check_orders_agree(reading)


def save_producer(saving: Saving) -> None:
    """Take the producer's name and currency into the site's settings."""
    for row in saving.reading.sound(ABOUT.name):
        settings = site_settings()
        said = {"producer": row["producer"]}
        if row["currency"]:
            said["currency"] = row["currency"].upper()
        named = ("working_weekdays", "kits_per_day")
        said |= {name: row[name] for name in named if row[name] is not None}
        changes = {name: value for name, value in said.items() if getattr(settings, name) != value}
        with saving.writing(row, new=False):
            if changes:
                change_version(
                    by=saving.by,
                    thing=settings,
                    expected=settings.version,
                    action="write-settings",
                    changes=changes,
                )


def save_plan(saving: Saving, books: Catalogue) -> None:
    """Write demand and what is on order."""
    _save_demand(saving)
    standing = {
        order.code: order
        for order in PurchaseOrder.objects.select_related("supplier").prefetch_related(
            "lines__item"
        )
    }
    for code, rows in _orders(saving.reading).items():
        lines_known = {row["item"] for row in rows} <= set(books.items)
        if lines_known and rows[0]["supplier"] in books.suppliers:
            _save_order(saving, books, rows, standing.get(code))


def _check_demand_once(reading: Reading) -> None:
    seen: dict[tuple[str, date], int] = {}
    for row in reading.sound(DEMAND.name):
        row.values["week_on"] = monday_of(row["week_on"])
        first = seen.setdefault(_demand_key(row), row.number)
        if first != row.number:
            row.sound = False
            what = f"Row {first} already foresees this kit in this week."
            reading.add(row, "kit", what, "Add the kits up into one row.")


def _demand_key(row: Row) -> tuple[str, date]:
    return row["kit"], row["week_on"]


def _check_orders_agree(reading: Reading) -> None:
    for rows in _orders(reading).values():
        for row in rows[1:]:
            for name in ("supplier", "ordered_on"):
                if row[name] != rows[0][name]:
                    row.sound = False
                    what = f"Row {rows[0].number} of the same order says {rows[0][name]}."
                    reading.add(row, name, what, "Make the rows of an order agree.")


def _orders(reading: Reading) -> dict[str, list[Row]]:
    orders: dict[str, list[Row]] = {}
    for row in reading.sound(ON_ORDER.name):
        orders.setdefault(row["order"], []).append(row)
    return orders


def _save_demand(saving: Saving) -> None:
    kits = {kit.item.code: kit for kit in Kit.objects.select_related("item")}
    standing = set(Forecast.objects.values_list("kit__item__code", "week_on"))
    for row in saving.reading.sound(DEMAND.name):
        kit = kits.get(row["kit"])
        if kit is None:
            continue
        with saving.writing(row, new=_demand_key(row) not in standing):
            cell = ForecastCell(kit=kit, week_on=row["week_on"], kits=row["kits"])
            set_forecast(by=saving.by, cells=[cell])


def _save_order(
    saving: Saving, books: Catalogue, rows: list[Row], standing: PurchaseOrder | None
) -> None:
    if standing is not None and _said(rows) == _standing(standing):
        saving.note(rows, Outcome.UNCHANGED)
        return
    with saving.writing(*rows, new=standing is None):
        write_order(
            by=saving.by,
            code=rows[0]["order"],
            supplier=books.suppliers[rows[0]["supplier"]],
            ordered_on=rows[0]["ordered_on"],
            lines=[
                OrderedLine(
                    item=books.items[row["item"]],
                    quantity=row["amount"].quantity,
                    due_on=row["due_on"],
                )
                for row in rows
            ],
        )


def _said(rows: list[Row]) -> tuple[object, ...]:
    lines = {(row["item"], row["amount"].quantity, row["due_on"]) for row in rows}
    return rows[0]["supplier"], rows[0]["ordered_on"], lines


def _standing(order: PurchaseOrder) -> tuple[object, ...]:
    lines = {(line.item.code, line.quantity, line.due_on) for line in order.lines.all()}
    return order.supplier.code, order.ordered_on, lines
